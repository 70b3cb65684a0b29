/* Writes a results file of an invented site with invented numbers, through the same code as the
 * commands, so that its form can be checked from outside: sample_results FILE.
 * The numbers mean nothing; only their places matter. */
#include "io/results/case_sheet.h"
#include "io/results/findings_sheet.h"
#include "io/results/steady_sheet.h"
#include "io/results/store.h"
#include "io/results/surge_sheet.h"
#include "models/fitting.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { POINTS = 4, LINKS = 3, TIMES = 401, STATIONS = 60 };

static struct point points[POINTS] = {
    {.name = "spring", .held_head = 0.2, .is_held = true, .tank = 0, .elevation = -1.0},
    {.name = "lift-1/in", .tank = NETWORK_NONE, .elevation = 0.5},
    {.name = "delivery/out", .tank = NETWORK_NONE, .elevation = 0.8, .is_named = true},
    {.name = "header \xC3\xA9", .held_head = 13.8, .is_held = true, .tank = 1, .elevation = 12.0}};

static const struct fitting fitting = {.area = 2e-3, .loss = 2.0, .loss_back = 2.0};
static const struct non_return valve = {.type = "spring cone"};

static struct link links[LINKS] = {
    {.name = "main/bend", .from = 0, .to = 1, .area = 2e-3},
    {.name = "delivery", .from = 1, .to = 2, .area = 2e-3},
    {.name = "main/pipe \"upper\"", .from = 2, .to = 3, .area = 2e-3}};

static struct tank tanks[] = {{.name = "spring", .level = 0.2, .point = 0},
                              {.name = "header \xC3\xA9", .level = 13.8, .point = 3}};
static struct run runs[] = {{.name = "main/upper", .from = 0, .to = 3, .link_count = LINKS}};
static struct network network = {POINTS, LINKS, 2, 1, points, links, tanks, runs};
static const struct valve_place valves[] = {{.link = 1}};
static const int gauges[] = {1, 2};
static const bool gauge_is_link[] = {false, true};

static double heads[POINTS] = {0.2, -0.9, 15.5, 13.8};
static double flows[LINKS] = {3.1e-3, 3.1e-3, 3.1e-3};
static double drops[LINKS] = {1.1, 0.7, 1.7};
static int zones[POINTS] = {-1, -1, -1, -1};

static void die(const struct failure *failure)
{
    fprintf(stderr, "sample_results: %s\n", failure->message);
    exit(1);
}

static void put(struct store *store, const struct sheet *sheet)
{
    struct failure failure = {0};
    if (!store_sheet(store, sheet, &failure)) {
        die(&failure);
    }
}

static struct surge_valve shut = {.link = 1,
                                  .has_shut = true,
                                  .shut_time = 0.42,
                                  .reverse_velocity = 0.21,
                                  .slam_head = 9.4,
                                  .shuts = 2};

static void put_surge(struct store *store, const struct site *site, struct arena *arena)
{
    static double time[TIMES], head[TIMES][2], flow[TIMES][2], opening[TIMES], through[TIMES];
    static double line[9][STATIONS], highest[POINTS], lowest[POINTS];
    struct failure failure = {0};
    struct sheet sheet;
    static struct surge_run run = {.count = STATIONS,
                                   .distance = line[0],
                                   .elevation = line[1],
                                   .ground = line[1],
                                   .head_start = line[2],
                                   .head_max = line[3],
                                   .head_min = line[4],
                                   .allowed = line[5],
                                   .buckling = line[6],
                                   .swing_share = line[7],
                                   .cycles = line[8]};
    for (int i = 0; i < TIMES; i++) {
        double t = time[i] = 0.01 * i;
        head[i][0] = -0.9 + 2.0 * exp(-t) * sin(9.0 * t);
        head[i][1] = 15.5 - 6.0 * exp(-0.7 * t) * sin(7.0 * t);
        flow[i][0] = NAN;
        through[i] = flow[i][1] = t < 0.42 ? 3.1e-3 - 8.2e-3 * t : 0.0;
        opening[i] = t < 0.4 ? 1.0 : t < 0.42 ? (0.42 - t) / 0.02 : 0.0;
    }
    for (int i = 0; i < STATIONS; i++) {
        double x = 2.0 * i;
        line[0][i] = x;
        line[1][i] = 0.5 + x * 0.1 + 2.0 * sin(x / 15.0);
        line[2][i] = 15.5 - x * 0.0144;
        line[3][i] = 28.0 - x * 0.12;
        line[4][i] = 3.0 + x * 0.09;
        line[5][i] = 100.0;
        line[7][i] = (line[3][i] - line[4][i]) / line[5][i];
        line[8][i] = 1e7 * (1.0 + x);
    }
    struct surge surge = {.time_reached = 4.0,
                          .step = 0.001,
                          .step_count = 4000,
                          .changed_link = 2,
                          .time_count = TIMES,
                          .time = time,
                          .gauge_head = head[0],
                          .gauge_flow = flow[0],
                          .opening = opening,
                          .valve_flow = through,
                          .run_count = 1,
                          .runs = &run,
                          .valve_count = 1,
                          .valves = &shut,
                          .head_max = highest,
                          .head_min = lowest};
    if (!surge_sheet(site, &surge, &sheet, arena, &failure)) {
        die(&failure);
    }
    put(store, &sheet);
    if (!surge_run_sheet(site, &run, &sheet, arena, &failure)) {
        die(&failure);
    }
    put(store, &sheet);
}

static void put_steady(struct store *store, const struct site *site, struct arena *arena)
{
    struct failure failure = {0};
    struct sheet sheet;
    const char *texts[1];
    struct findings findings;
    const struct finding finding = {.level = FINDING_WARNING,
                                    .rule = "example",
                                    .subject = "main",
                                    .text = "an example",
                                    .value = 1.25,
                                    .limit = NAN,
                                    .unit = "m"};
    const struct steady steady = {.steps = 7,
                                  .mass_residual = 1e-15,
                                  .head = heads,
                                  .flow = flows,
                                  .drop = drops,
                                  .zone = zones,
                                  .worst_point = 1};
    findings_init(&findings, arena);
    findings_add(&findings, &finding);
    if (!case_root_sheet(site, "steady sample.yaml", &sheet, arena, &failure)) {
        die(&failure);
    }
    put(store, &sheet);
    case_sheet(site, &sheet, texts);
    put(store, &sheet);
    if (!steady_sheet(site, &steady, &sheet, arena, &failure)) {
        die(&failure);
    }
    put(store, &sheet);
    if (!findings_sheet(&findings, "/steady/findings", &sheet, arena, &failure)) {
        die(&failure);
    }
    put(store, &sheet);
}

int main(int argc, char *argv[])
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    struct store *store = argc == 2 ? store_new(argv[1], &failure) : NULL;
    struct element valve_element = fitting_element;
    valve_element.kind = "non-return";
    struct site site = {
        .name = "Alder Beck",
        .path = "sample.yaml",
        .text = "site: Alder Beck\n",
        .network = &network,
        .valve_count = 1,
        .valves = valves,
        .surge = {.gauge_count = 2, .gauges = gauges, .gauge_is_link = gauge_is_link}};
    for (int i = 0; i < LINKS; i++) {
        links[i].element = i == 1 ? &valve_element : &fitting_element;
        links[i].data = i == 1 ? (const void *)&valve : &fitting;
    }
    if (argc != 2 || !arena || !store ||
        !water_init(&site.water, 11.0, 210.0, (struct place){0}, &failure)) {
        die(&failure);
    }
    put_steady(store, &site, arena);
    put_surge(store, &site, arena);
    if (!store_finish(store, &failure)) {
        die(&failure);
    }
    store_free(store);
    arena_free(arena);
    return 0;
}
