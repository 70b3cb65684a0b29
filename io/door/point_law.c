#include "io/door/point_law.h"

#include "io/door/protection.h"
#include "io/door/tee_point.h"
#include "models/circle.h"
#include "models/draw_off.h"
#include "models/standpipe.h"

#include <math.h>
#include <string.h>

#define FIELD(name) offsetof(struct point_law, name)
static const struct key point_law_keys[] = {
    {.name = "falls with pressure",
     .kind = KEY_YES,
     .offset = FIELD(falls),
     .help = "the draw is met as long as the wanted pressure is there, and falls with it below"},
    {.name = "standpipe top",
     .kind = KEY_QUANTITY,
     .offset = FIELD(standpipe_top),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation where an open upright pipe on it would run over"},
    {.name = "standpipe bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(standpipe_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_SHAFT,
     .range = RANGE_POSITIVE,
     .help = "of that upright pipe, or of a surge tank"},
    {.name = "standpipe throttle",
     .kind = KEY_QUANTITY,
     .offset = FIELD(standpipe_throttle),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_SHAFT,
     .range = RANGE_POSITIVE,
     .help =
         "bore of a sharp hole at its foot, which wears its swing down; else as wide as itself"},
    {.name = "air vessel",
     .kind = KEY_NODE,
     .offset = FIELD(vessel),
     .help = "a map: {volume: 200 L, gas: 80 L}"},
    {.name = "air valve", .kind = KEY_NODE, .offset = FIELD(air), .help = "a map: {bore: 25 mm}"},
    {.name = "tee",
     .kind = KEY_NODE,
     .offset = FIELD(tee),
     .help = "the three runs meet in a tee: {branch: name of a run}"},
};
#undef FIELD

const struct section point_law_section = {
    "points: draw-off, standpipe, tee", "what a point may be beside a meeting of runs",
    sizeof point_law_keys / sizeof *point_law_keys, point_law_keys};

static bool check(struct draft *draft, const struct point_law *law, const struct point *point)
{
    if (law->tee && (law->falls == 1 || isfinite(law->standpipe_top))) {
        return draft_error(draft, point->place,
                           "point '%s': a tee has no draw and no standpipe of its own; put them at "
                           "another point",
                           point->name);
    }
    if (law->falls == 1 && !(point->draw > 0 && point->wanted_head > 0)) {
        return draft_error(draft, point->place,
                           "point '%s': a draw that falls with pressure needs its 'draw' and the "
                           "'wanted pressure' for it, both above zero",
                           point->name);
    }
    if (isfinite(law->standpipe_top) != isfinite(law->standpipe_bore)) {
        return draft_error(draft, point->place,
                           "point '%s': 'standpipe top' and 'standpipe bore' go together",
                           point->name);
    }
    if (isfinite(law->standpipe_throttle) && !(law->standpipe_throttle <= law->standpipe_bore)) {
        return draft_error(
            draft, point->place,
            "point '%s': 'standpipe throttle' is a hole no wider than the 'standpipe "
            "bore' of the standpipe it stands in",
            point->name);
    }
    if (isfinite(law->standpipe_top) && law->standpipe_top <= point->elevation) {
        return draft_error(draft, point->place,
                           "point '%s': the standpipe's top, %.4g m, is not above its foot, "
                           "%.4g m",
                           point->name, law->standpipe_top, point->elevation);
    }
    return true;
}

bool point_law_keep(struct draft *draft, struct point_law *law)
{
    if (law->falls != 1 && !law->tee && !isfinite(law->standpipe_top) &&
        !isfinite(law->standpipe_bore) && !isfinite(law->standpipe_throttle) && !law->vessel &&
        !law->air) {
        return true;
    }
    if (!check(draft, law, &draft->network->points[law->point]) || !protection_read(draft, law)) {
        return false;
    }
    if (draft->point_law_count == draft->point_law_room) {
        const int room = 2 * draft->point_law_room + 8;
        struct point_law *laws = draft_take(draft, (size_t)room, sizeof *laws);
        if (!laws) {
            return false;
        }
        if (draft->point_law_count > 0) {
            memcpy(laws, draft->point_laws, (size_t)draft->point_law_count * sizeof *laws);
        }
        draft->point_laws = laws;
        draft->point_law_room = room;
    }
    draft->point_laws[draft->point_law_count++] = *law;
    return true;
}

/* Bore area of a part that meets the point; 0: no run leads there. */
static double area_beside(const struct draft *draft, int point)
{
    const struct network *network = draft->network;
    for (int i = 0; i < network->link_count; i++) {
        if (network->links[i].from == point || network->links[i].to == point) {
            return network->links[i].area;
        }
    }
    return 0;
}

/* A link from the point to a head held there. */
static void add_link(struct draft *draft, const struct point_law *law, const char *word,
                     double held_head, struct link link)
{
    const struct point *foot = &draft->network->points[law->point];
    const struct point far = {.name = draft_text(draft, "%s/%s end", foot->name, word),
                              .place = foot->place,
                              .elevation = held_head,
                              .held_head = held_head,
                              .is_held = true,
                              .tank = NETWORK_NONE};
    link.name = draft_text(draft, "%s/%s", foot->name, word);
    link.place = foot->place;
    link.from = law->point;
    link.run = NETWORK_NONE;
    link.to = draft_add_point(draft, &far);
    if (link.to < 0 || draft_add_link(draft, &link) < 0) {
        return; /* told */
    }
}

static void make_draw_off(struct draft *draft, const struct point_law *law, double area)
{
    struct point *point = &draft->network->points[law->point];
    struct draw_off *draw = draft_take(draft, 1, sizeof *draw);
    if (!draw) {
        return;
    }
    *draw = (struct draw_off){
        .flow = point->draw, .head = point->wanted_head, .exponent = 0.5, .most = point->draw};
    point->draw = 0;
    add_link(draft, law, "draw-off", point->elevation,
             (struct link){.area = area, .element = &draw_off_element, .data = draw});
}

/* Discharge coefficient of a sharp-edged hole: 0.6 (any textbook of hydraulics; from memory). */
static const double hole_coefficient = 0.6;

/* The joint costs what a branch into still water does: its velocity head; a hole in it what a
 * sharp-edged one does, h = v^2/(2 g C^2). */
static void make_standpipe(struct draft *draft, const struct point_law *law)
{
    struct failure failure;
    const double area = circle_area(law->standpipe_bore);
    const struct point *point = &draft->network->points[law->point];
    struct standpipe *standpipe = draft_take(draft, 1, sizeof *standpipe);
    if (!standpipe) {
        return;
    }
    *standpipe = (struct standpipe){.area = area,
                                    .joint_area = area,
                                    .loss = 1,
                                    .top = law->standpipe_top,
                                    .bottom = point->elevation};
    if (isfinite(law->standpipe_throttle)) {
        standpipe->joint_area = circle_area(law->standpipe_throttle);
        standpipe->loss = 1 / (hole_coefficient * hole_coefficient);
    }
    if (!standpipe_check(standpipe, point->place, &failure)) {
        (void)faults_add_failure(draft->reader.faults, &failure);
        return;
    }
    add_link(draft, law, "standpipe", standpipe->top,
             (struct link){.area = area, .element = &standpipe_element, .data = standpipe});
}

/* Its air vessel and air valve. */
static void make_protection(struct draft *draft, const struct point_law *law, double area)
{
    double held_head = 0;
    struct link link = {.area = area};
    if (law->vessel && protection_make_vessel(draft, law, &link, &held_head)) {
        add_link(draft, law, "air vessel", held_head, link);
    }
    if (law->air && protection_make_air_valve(draft, law, &link, &held_head)) {
        add_link(draft, law, "air valve", held_head, link);
    }
}

void point_laws_finish(struct draft *draft)
{
    for (int i = 0; i < draft->point_law_count; i++) {
        const struct point_law *law = &draft->point_laws[i];
        const double area = area_beside(draft, law->point);
        if (!(area > 0)) {
            continue; /* a point without runs is told of and left out */
        }
        if (law->falls == 1) {
            make_draw_off(draft, law, area);
        }
        if (isfinite(law->standpipe_top)) {
            make_standpipe(draft, law);
        }
        make_protection(draft, law, area);
        if (law->tee) {
            tee_point_make(draft, law->point, law->tee);
        }
    }
}
