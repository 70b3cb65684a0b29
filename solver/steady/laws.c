#include "solver/steady/laws.h"

#include "solver/steady/start.h"
#include "solver/steady/zones.h"

#include <math.h>

static bool has_end(struct span span)
{
    return isfinite(span.lower) || isfinite(span.upper);
}

/* Frictions copied side by side, to be worked out together: while one waits for memory the next are
 * asked for already. */
enum { BLOCK = 64 };

struct reading {
    int count;
    int place[BLOCK];
    struct friction friction[BLOCK];
};

/* What is no friction by a roughness alone is read as a pipe of a fixed factor that loses nothing.
 */
static void read_friction(struct reading *reading, const struct link *link, int place,
                          struct span span)
{
    static const struct friction none = {.length = 0.0, .bore = 1.0, .factor = 1.0};
    const struct friction *friction =
        link->element->friction && !has_end(span) ? link->element->friction(link->data) : NULL;
    reading->place[reading->count] = place;
    reading->friction[reading->count++] = friction ? *friction : none;
}

static void take_digests(struct state *state, const struct water *water, struct reading *reading,
                         bool *are_plain)
{
    for (int i = 0; i < reading->count; i++) {
        const int place = reading->place[i];
        const bool is_plain = friction_digest_make(&reading->friction[i], water->viscosity,
                                                   water->gravity, &state->digest[place]);
        if (place < state->link_count) {
            state->is_open[place] = is_plain; /* until there are factors */
        } else {
            *are_plain = *are_plain && is_plain;
        }
    }
    reading->count = 0;
}

/* Frictions and usual flows. Returns whether every law is a monotone graph, and those of runs are
 * friction alone. */
static bool read_all(struct state *state, const struct network *network, const struct water *water)
{
    struct reading reading = {.count = 0};
    bool is_monotone = true;
    bool are_plain = true;
    /* In the network's order: its links and their data mostly lie in it, and to wait for reading
     * costs more than to write here and there. */
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const int place = state->place[i];
        if (place == NETWORK_NONE) {
            continue;
        }
        const struct span span = link->element->span(link->data, water);
        is_monotone = is_monotone && !link->element->coupling;
        read_friction(&reading, link, place, span);
        state->usual_flow[place] = start_usual_flow(link);
        if (reading.count == BLOCK) {
            take_digests(state, water, &reading, &are_plain);
        }
        if (!are_plain) {
            return false; /* of no use with these runs, so the rest need not be read */
        }
    }
    take_digests(state, water, &reading, &are_plain);
    for (int i = 0; i < state->extra_count; i++) {
        are_plain = are_plain && state->is_open[state->of[i]];
    }
    return is_monotone && are_plain;
}

bool laws_read(struct state *state, const struct network *network, const struct water *water)
{
    const bool is_good = read_all(state, network, water);
    if (!is_good && state->extra_count > 0) {
        return false;
    }
    state->limited_count = 0;
    state->other_count = 0;
    for (int e = 0; e < state->link_count; e++) {
        if (!state->is_open[e]) {
            const struct link *link = &network->links[state->link[e]];
            state->law[state->other_count] = (struct law){link->element, link->data};
            state->other[state->other_count++] = e;
            const struct span span = link->element->span(link->data, water);
            if (has_end(span)) {
                state->span[state->limited_count] = span;
                state->limited[state->limited_count++] = e;
            }
        }
    }
    zones_part(state);
    return is_good;
}
