#include "io/door/explain_parts.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "models/circle.h"
#include "models/draw_off.h"
#include "models/float_valve.h"
#include "models/flow_limiter.h"
#include "models/reducer.h"
#include "models/regulator.h"
#include "models/relief_valve.h"
#include "models/standpipe.h"
#include "models/strainer.h"
#include "models/tee.h"
#include "models/throttling.h"

#include <math.h>

/* mm, of the circle of this area. */
static double bore_mm(double area)
{
    return 1e3 * sqrt(4.0 * area / circle_pi);
}

static double bar_of(const struct site *site, double head)
{
    return water_pressure(&site->water, head) / 1e5;
}

static void write_throttling(const struct throttling *valve, struct prose *out)
{
    prose_add(out, "%s valve, K %.3g fully open, %.3g %% open", valve->curve->name,
              valve->open_loss, 100 * valve->opening);
}

static void write_float_valve(const struct float_valve *valve, struct prose *out)
{
    prose_add(out, "float valve, K %.3g fully open, open up to %.4g m, shut from %.4g m",
              valve->valve.open_loss, valve->open_level, valve->shut_level);
}

static void write_strainer(const struct strainer *strainer, struct prose *out)
{
    prose_add(out, "strainer, K %.3g clean in %.1f mm", strainer->clean_loss,
              bore_mm(strainer->area));
    if (strainer->blocked > 0) {
        prose_add(out, ", K %.3g now, %.3g %% blocked", strainer_loss(strainer),
                  100 * strainer->blocked);
    }
}

static void write_reducer(const struct reducer *reducer, struct prose *out)
{
    prose_add(out, "reducer, %.1f to %.1f mm, K %.3g on the smaller bore", 1e3 * reducer->bore_from,
              1e3 * reducer->bore_to, reducer->fitting.loss);
    if (reducer->angle > 0) {
        prose_add(out, ", cone of %.3g deg", reducer->angle * 180 / circle_pi);
    } else {
        prose_add(out, ", sudden");
    }
}

static void write_regulator(const struct site *site, const struct link *link, struct prose *out)
{
    const struct regulator *regulator = link->data;
    const struct point *points = site->network->points;
    prose_add(out, "pressure regulator, K %.3g fully open", regulator->open_loss);
    if (isfinite(regulator->most_behind)) {
        prose_add(out, ", at most %.3g bar behind it",
                  bar_of(site, regulator->most_behind - points[link->to].elevation));
    }
    if (isfinite(regulator->least_before)) {
        prose_add(out, ", at least %.3g bar before it",
                  bar_of(site, regulator->least_before - points[link->from].elevation));
    }
    prose_add(out, ", stroke %.3g s", regulator->stroke);
}

static void write_limiter(const struct flow_limiter *limiter, struct prose *out)
{
    prose_add(out, "flow limiter, at most %.4g L/s, K %.3g below that%s", 1e3 * limiter->limit,
              limiter->loss, limiter->is_one_way ? ", nothing back" : "");
}

static void write_relief(const struct site *site, const struct relief_valve *valve,
                         struct prose *out)
{
    prose_add(out, "relief valve of %.1f mm, opens at %.3g bar, fully at %.3g bar",
              bore_mm(valve->area), bar_of(site, valve->set_head),
              bar_of(site, valve->set_head * (1 + valve->overpressure)));
    if (valve->opening_time > 0 || valve->closing_time > 0) {
        prose_add(out, ", lifts in %.3g s, shuts in %.3g s", valve->opening_time,
                  valve->closing_time);
    }
}

static void write_draw_off(const struct site *site, const struct link *link, struct prose *out)
{
    const struct draw_off *draw = link->data;
    prose_add(out, "%s, %.4g L/s at %.3g bar", link->element->kind, 1e3 * draw->flow,
              bar_of(site, draw->head));
    if (isfinite(draw->most)) {
        prose_add(out, " and above, less below");
    }
}

static void write_vessel(const struct site *site, const struct air_vessel *vessel,
                         struct prose *out)
{
    prose_add(out, "air vessel of %.4g L, ", 1e3 * vessel->volume);
    if (vessel->gas > 0) {
        prose_add(out, "%.4g L of gas in steady flow", 1e3 * vessel->gas);
    } else {
        prose_add(out, "precharged to %.3g bar", bar_of(site, vessel->precharge));
    }
    prose_add(out, ", exponent %.3g, joint %.1f mm with K %.3g in and %.3g out", vessel->exponent,
              bore_mm(vessel->joint_area), vessel->loss_in, vessel->loss_out);
}

static void write_air_valve(const struct air_valve *valve, struct prose *out)
{
    prose_add(out, "air valve, air in by %.3g mm, out by %.3g mm", bore_mm(valve->area_in),
              bore_mm(valve->area_out));
}

static void write_standpipe(const struct standpipe *pipe, struct prose *out)
{
    prose_add(out, "standpipe of %.4g mm up to %.4g m, K %.3g at its foot", bore_mm(pipe->area),
              pipe->top, pipe->loss);
}

static void write_tee(const struct tee_leg *leg, struct prose *out)
{
    prose_add(out, "tee, %s, branch at %.3g deg", leg->leg == TEE_LEGS - 1 ? "branch" : "through",
              leg->tee->angle * 180 / circle_pi);
}

void explain_part(const struct site *site, const struct link *link, struct prose *out)
{
    const struct element *element = link->element;
    if (element == &throttling_element) {
        write_throttling(link->data, out);
    } else if (element == &float_valve_element) {
        write_float_valve(link->data, out);
    } else if (element == &strainer_element) {
        write_strainer(link->data, out);
    } else if (element == &reducer_element) {
        write_reducer(link->data, out);
    } else if (element == &regulator_element) {
        write_regulator(site, link, out);
    } else if (element == &flow_limiter_element) {
        write_limiter(link->data, out);
    } else if (element == &relief_valve_element) {
        write_relief(site, link->data, out);
    } else if (element == &draw_off_element || element == &nozzle_element) {
        write_draw_off(site, link, out);
    } else if (element == &air_vessel_element) {
        write_vessel(site, link->data, out);
    } else if (element == &air_valve_element) {
        write_air_valve(link->data, out);
    } else if (element == &standpipe_element) {
        write_standpipe(link->data, out);
    } else if (element == &tee_element) {
        write_tee(link->data, out);
    } else {
        prose_add(out, "%s", element->kind);
    }
}
