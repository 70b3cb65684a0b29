/* Mouths that pour into the air: water may not flow back, air may. */
#include "models/fitting.h"
#include "tests/solver/surge_rig.h"

/* Valve - pipe - mouth without loss: the pipe holds the head of the air there, so a sudden stop
 * gives the same square wave about it as before a tank (Joukowsky), half a period of it with air in
 * the mouth. */
Test(surge_mouth, air_comes_in_where_water_may_not_flow_back)
{
    struct rig rig;
    rig_open(&rig, 8.0);
    double area = 0.01;
    double flow = 0.981 * area;
    struct rig_valve valve = {.capacity = flow};
    struct fitting mouth = {.area = area, .is_one_way = true};
    int feed = rig_add_tank(&rig, 61.0);
    int start = rig_add_point(&rig, 60.0);
    int end = rig_add_point(&rig, 60.0);
    int air = rig_add_tank(&rig, 60.0);
    rig_add_link(&rig, feed, start, area, &rig_valve_element, &valve, flow);
    rig_add_pipe(&rig, start, end, 600.0, area, 1200.0, flow);
    int link = rig_add_link(&rig, end, air, area, &fitting_element, &mouth, flow);
    rig.site.surge.reaches = 20;
    rig_add_gauge(&rig, start, false);
    rig_add_gauge(&rig, link, true);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 0, 0.0, 0.0);
    rig_run(&rig);
    for (int i = 1; i < rig.result.time_count; i++) {
        double sign = (i - 1) / 40 % 2 == 0 ? -1.0 : 1.0;
        cr_assert_float_eq(rig_head(&rig, i, 0), 60.0 + sign * 120.0, 1e-8, "step %d", i);
        double turned = i <= 20 || (i - 21) / 40 % 2 == 1 ? 1.0 : -1.0;
        cr_assert_float_eq(rig_flow(&rig, i, 1), turned * flow, 1e-12, "step %d", i);
    }
    rig_close(&rig);
}
