/* Endings and events of a filling run in words. */
#include "solver/filling/filling.h"

const char *filling_ending_text(enum filling_ending ending)
{
    switch (ending) {
    case FILLING_DONE:
        return "done";
    case FILLING_CHATTERS:
        return "stopped: something switches to and fro without end";
    case FILLING_NO_ANSWER:
        return "stopped: the network has no steady flow";
    case FILLING_STEP_FAILED:
        return "stopped: no time step keeps the accuracy";
    case FILLING_TOO_MANY:
        return "stopped: more steps than allowed";
    case FILLING_STOPPED:
        break;
    }
    return "stopped on request";
}

const char *filling_event_text(enum filling_event_kind kind)
{
    static const char *const texts[FILLING_EVENT_KINDS] = {
        [FILLING_PUMP_ON] = "starts",
        [FILLING_PUMP_OFF] = "stops",
        [FILLING_PROTECTED] = "is kept off: too little water before it",
        [FILLING_UNPROTECTED] = "may run again",
        [FILLING_PRIME_LOST] = "has lost its prime",
        [FILLING_PRIMED] = "is primed again",
        [FILLING_BRIM] = "begins to run over",
        [FILLING_BRIM_END] = "no longer runs over",
        [FILLING_DRY] = "is down to its lowest mouth",
        [FILLING_DRY_END] = "feeds its mouths again",
        [FILLING_UNCOVERED] = "stands out of the water",
        [FILLING_COVERED] = "is under water again",
        [FILLING_VALVE_OPENS] = "opens",
        [FILLING_VALVE_SHUTS] = "shuts",
    };
    return kind < FILLING_EVENT_KINDS ? texts[kind] : "unknown";
}

const char *filling_event_subject(const struct site *site, enum filling_event_kind kind,
                                  int subject)
{
    const struct network *network = site->network;
    switch (kind) {
    case FILLING_PUMP_ON:
    case FILLING_PUMP_OFF:
    case FILLING_PROTECTED:
    case FILLING_UNPROTECTED:
    case FILLING_PRIME_LOST:
    case FILLING_PRIMED:
        return network->links[site->filling.pumps[subject].link].name;
    case FILLING_BRIM:
    case FILLING_BRIM_END:
    case FILLING_DRY:
    case FILLING_DRY_END:
        return network->tanks[subject].name;
    case FILLING_UNCOVERED:
    case FILLING_COVERED:
    case FILLING_VALVE_OPENS:
    case FILLING_VALVE_SHUTS:
    case FILLING_EVENT_KINDS:
        break;
    }
    return network->links[subject].name;
}
