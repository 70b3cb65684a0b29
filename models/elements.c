#include "models/elements.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "models/draw_off.h"
#include "models/fitting.h"
#include "models/float_valve.h"
#include "models/flow_limiter.h"
#include "models/non_return.h"
#include "models/pipe.h"
#include "models/pump.h"
#include "models/pump_curve.h"
#include "models/reducer.h"
#include "models/regulator.h"
#include "models/relief_valve.h"
#include "models/standpipe.h"
#include "models/strainer.h"
#include "models/tee.h"
#include "models/throttling.h"

static const struct element *const elements[] = {
    &pipe_element,         &fitting_element,      &pump_element,       &non_return_element,
    &reducer_element,      &strainer_element,     &throttling_element, &float_valve_element,
    &flow_limiter_element, &relief_valve_element, &regulator_element,  &tee_element,
    &standpipe_element,    &air_vessel_element,   &air_valve_element,
};

int element_count(void)
{
    return (int)(sizeof elements / sizeof elements[0]);
}

const struct element *element_at(int index)
{
    return elements[index];
}
