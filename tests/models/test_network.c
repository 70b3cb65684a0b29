#include "models/fitting.h"
#include "models/network.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct fitting plain = {.area = 0.01, .loss = 1, .loss_back = 1};

/* Two tanks, a point between them, two links in one run. */
struct site {
    struct point points[3];
    struct link links[2];
    struct tank tanks[2];
    struct run runs[1];
    struct network network;
};

static void build(struct site *site)
{
    *site = (struct site){
        .points = {{.name = "low", .is_held = true, .held_head = 1, .tank = 0},
                   {.name = "main/1", .elevation = 2, .tank = NETWORK_NONE, .place = {"s", 7, 3}},
                   {.name = "high", .is_held = true, .held_head = 9, .tank = 1}},
        .links = {{.name = "a", .from = 0, .to = 1, .area = 0.01, .place = {"s", 4, 2}},
                  {.name = "b", .from = 1, .to = 2, .area = 0.01}},
        .tanks = {{.name = "low", .point = 0}, {.name = "high", .point = 2, .area = 3}},
        .runs = {{.name = "main", .from = 0, .to = 2, .first_link = 0, .link_count = 2}},
    };
    for (int i = 0; i < 2; i++) {
        site->links[i].element = &fitting_element;
        site->links[i].data = &plain;
    }
    site->network = (struct network){.point_count = 3,
                                     .link_count = 2,
                                     .tank_count = 2,
                                     .run_count = 1,
                                     .points = site->points,
                                     .links = site->links,
                                     .tanks = site->tanks,
                                     .runs = site->runs};
}

static void assert_refused(const struct site *site, const char *word)
{
    struct failure failure = {0};
    cr_assert_not(network_check(&site->network, &failure), "%s", word);
    cr_assert_eq(failure.kind, FAILURE_INPUT);
    cr_assert_not_null(strstr(failure.message, word), "'%s' in: %s", word, failure.message);
}

Test(network, sound_network_passes)
{
    struct site site;
    struct failure failure = {0};
    build(&site);
    cr_assert(network_check(&site.network, &failure), "%s", failure.message);
}

Test(network, link_faults_are_told_with_their_place)
{
    struct site site;
    build(&site);
    site.links[0].to = 3;
    struct failure failure = {0};
    cr_assert_not(network_check(&site.network, &failure));
    cr_assert_eq(failure.place.line, 4);
    build(&site);
    site.links[0].to = 0;
    assert_refused(&site, "two different ends");
    build(&site);
    site.links[1].element = NULL;
    assert_refused(&site, "nothing says what it is");
    build(&site);
    site.links[1].area = 0;
    assert_refused(&site, "area");
    build(&site);
    site.links[1].area = NAN;
    assert_refused(&site, "area");
    build(&site);
    site.links[1].run = 1;
    assert_refused(&site, "run");
}

Test(network, point_tank_and_run_faults_are_told)
{
    struct site site;
    build(&site);
    site.points[1].elevation = NAN;
    assert_refused(&site, "point 'main/1'");
    build(&site);
    site.points[2].held_head = INFINITY;
    assert_refused(&site, "point 'high'");
    build(&site);
    site.points[2].tank = 2;
    assert_refused(&site, "tank");
    build(&site);
    site.tanks[1].point = -1;
    assert_refused(&site, "tank 'high'");
    build(&site);
    site.tanks[1].area = -1;
    assert_refused(&site, "area");
    build(&site);
    site.runs[0].link_count = 3;
    assert_refused(&site, "run 'main'");
    build(&site);
    site.runs[0].to = 5;
    assert_refused(&site, "run 'main'");
}

Test(network, copy_can_be_changed_without_the_original)
{
    struct site site;
    build(&site);
    struct arena *arena = arena_new();
    struct network *copy = network_copy(&site.network, arena);
    cr_assert_not_null(copy);
    copy->links[0].data = NULL;
    copy->points[1].draw = 1;
    copy->tanks[0].level = 5;
    cr_assert_eq(site.links[0].data, &plain);
    cr_assert(site.points[1].draw == 0 && site.tanks[0].level == 0);
    cr_assert_eq(copy->links[1].element, &fitting_element);
    cr_assert_eq(copy->runs[0].link_count, 2);
    arena_free(arena);
}

Test(network, names_are_found_and_unknown_ones_are_none)
{
    struct site site;
    build(&site);
    site.links[0].name = NULL;
    cr_assert_eq(network_find_link(&site.network, "b"), 1);
    cr_assert_eq(network_find_point(&site.network, "main/1"), 1);
    cr_assert_eq(network_find_tank(&site.network, "high"), 1);
    cr_assert_eq(network_find_link(&site.network, "main/1"), NETWORK_NONE);
    cr_assert_eq(network_find_point(&site.network, ""), NETWORK_NONE);
    cr_assert_eq(network_find_tank(&site.network, "HIGH"), NETWORK_NONE);
}
