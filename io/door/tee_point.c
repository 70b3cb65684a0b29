#include "io/door/tee_point.h"

#include "models/circle.h"
#include "models/tee.h"

#include <math.h>
#include <string.h>

struct tee_words {
    const char *branch, *leans_to;
    double angle;
};

#define FIELD(name) offsetof(struct tee_words, name)
static const struct key tee_keys[] = {
    {.name = "branch",
     .kind = KEY_TEXT,
     .offset = FIELD(branch),
     .is_required = true,
     .help = "the run that is joined to its side; the other two go straight through"},
    {.name = "angle",
     .kind = KEY_QUANTITY,
     .offset = FIELD(angle),
     .quantity = QUANTITY_ANGLE,
     .range = RANGE_POSITIVE,
     .fallback = "90 deg",
     .help = "between the branch and the run that it leans to"},
    {.name = "leans to",
     .kind = KEY_TEXT,
     .offset = FIELD(leans_to),
     .help = "the run through it to which a branch that is not square leans"},
};
#undef FIELD

const struct section tee_section = {"points: tee", "three runs that meet in a tee",
                                    sizeof tee_keys / sizeof tee_keys[0], tee_keys};

/* Where a run meets the point. */
struct meeting {
    struct run *run;
    bool is_start; /* the run begins here */
    int link;      /* its first or last part */
};

static int find_meetings(const struct draft *draft, int point, struct meeting meetings[TEE_LEGS])
{
    int count = 0;
    for (int i = 0; i < draft->network->run_count; i++) {
        struct run *run = &draft->network->runs[i];
        if (run->from != point && run->to != point) {
            continue;
        }
        if (count < TEE_LEGS) {
            const bool is_start = run->from == point;
            meetings[count] = (struct meeting){
                run, is_start, is_start ? run->first_link : run->first_link + run->link_count - 1};
        }
        count++;
    }
    return count;
}

/* Index of the meeting with this run, or -1 (told). */
static int find_run(struct draft *draft, const struct tree *node, const char *point,
                    const char *key, const char *name, const struct meeting meetings[TEE_LEGS])
{
    for (int i = 0; i < TEE_LEGS; i++) {
        if (strcmp(meetings[i].run->name, name) == 0) {
            return i;
        }
    }
    (void)draft_error(draft, tree_find(node, key)->place,
                      "point '%s': tee: %s: no run '%.60s' meets it here; there are '%s', '%s' "
                      "and '%s'",
                      point, key, name, meetings[0].run->name, meetings[1].run->name,
                      meetings[2].run->name);
    return -1;
}

/* order[leg]: the meeting that is this leg. */
static bool find_order(struct draft *draft, const struct tree *node, const char *point,
                       const struct tee_words *words, const struct meeting meetings[TEE_LEGS],
                       int order[TEE_LEGS])
{
    static const double square = 0.5 * circle_pi;
    const int branch = find_run(draft, node, point, "branch", words->branch, meetings);
    if (branch < 0) {
        return false;
    }
    order[TEE_BRANCH] = branch;
    order[TEE_RUN_1] = (branch + 1) % TEE_LEGS;
    order[TEE_RUN_2] = (branch + 2) % TEE_LEGS;
    if (!words->leans_to) {
        return fabs(words->angle - square) < 1e-6 ||
               draft_error(draft, node->place,
                           "point '%s': tee: its branch is not square; say the run that it 'leans "
                           "to'",
                           point);
    }
    const int leaning = find_run(draft, node, point, "leans to", words->leans_to, meetings);
    if (leaning == branch) {
        return draft_error(draft, tree_find(node, "leans to")->place,
                           "point '%s': tee: its branch cannot lean to itself", point);
    }
    if (leaning >= 0 && leaning == order[TEE_RUN_1]) {
        order[TEE_RUN_1] = order[TEE_RUN_2];
        order[TEE_RUN_2] = leaning;
    }
    return leaning >= 0;
}

/* The run's own end, and the leg between it and the middle. False: told. */
static bool add_leg(struct draft *draft, int middle, const struct meeting *meeting, struct tee *tee,
                    const struct tee_leg *leg)
{
    struct network *network = draft->network;
    const struct point *centre = &network->points[middle];
    const char *name = draft_text(draft, "%s/%s", centre->name, meeting->run->name);
    const struct point point = {
        .name = name, .place = centre->place, .elevation = centre->elevation, .tank = NETWORK_NONE};
    const int end = draft_add_point(draft, &point);
    if (end < 0) {
        return false;
    }
    const double area = leg->leg == TEE_BRANCH ? tee->branch_area : tee->run_area;
    const struct link link = {.name = name,
                              .place = point.place,
                              .from = meeting->is_start ? middle : end,
                              .to = meeting->is_start ? end : middle,
                              .run = NETWORK_NONE,
                              .area = area,
                              .element = &tee_element,
                              .data = leg};
    if (meeting->is_start) {
        meeting->run->from = end;
        network->links[meeting->link].from = end;
    } else {
        meeting->run->to = end;
        network->links[meeting->link].to = end;
    }
    tee->is_outward[leg->leg] = meeting->is_start;
    tee->link[leg->leg] = draft_add_link(draft, &link);
    return tee->link[leg->leg] >= 0;
}

static void find_areas(const struct draft *draft, const struct meeting meetings[TEE_LEGS],
                       const int order[TEE_LEGS], struct tee *tee)
{
    const struct link *links = draft->network->links;
    tee->run_area = fmax(links[meetings[order[TEE_RUN_1]].link].area,
                         links[meetings[order[TEE_RUN_2]].link].area);
    tee->branch_area = links[meetings[order[TEE_BRANCH]].link].area;
}

void tee_point_make(struct draft *draft, int point, const struct tree *node)
{
    struct tee_words words;
    struct failure failure;
    struct meeting meetings[TEE_LEGS];
    int order[TEE_LEGS];
    const struct target targets[] = {{&tee_section, &words}};
    const struct point here = draft->network->points[point];
    if (!keys_read(&draft->reader, node, "tee", 1, targets)) {
        return;
    }
    const int count = find_meetings(draft, point, meetings);
    if (count != TEE_LEGS || fabs(here.draw) > 0 || here.is_held) {
        (void)draft_error(draft, node->place,
                          "point '%s': a tee is where three runs meet and nothing else is drawn or "
                          "held; %d %s here",
                          here.name, count, count == 1 ? "run meets it" : "runs meet it");
        return;
    }
    struct tee *tee = draft_take(draft, 1, sizeof *tee);
    struct tee_leg *legs = draft_take(draft, TEE_LEGS, sizeof *legs);
    if (!tee || !legs || !find_order(draft, node, here.name, &words, meetings, order)) {
        return;
    }
    find_areas(draft, meetings, order, tee);
    tee->angle = words.angle;
    for (int leg = 0; leg < TEE_LEGS; leg++) {
        legs[leg] = (struct tee_leg){.tee = tee, .leg = leg};
        if (!add_leg(draft, point, &meetings[order[leg]], tee, &legs[leg])) {
            return; /* told */
        }
    }
    if (!tee_init(tee, node->place, &failure)) {
        (void)faults_add_failure(draft->reader.faults, &failure);
    }
}
