#include "io/report/material.h"

#include "io/door/file.h"
#include "io/plot/figures.h"
#include "io/report/case_again.h"
#include "io/sketch/sketch.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PICTURE_SIZE_MOST = 32 * 1024 * 1024 };

const char *material_text(const struct sheet *sheet, const char *name, const char *otherwise)
{
    const struct attribute *attribute = sheet_find_attribute(sheet, name);
    return attribute && attribute->text ? attribute->text : otherwise;
}

double material_number(const struct sheet *sheet, const char *name)
{
    const struct attribute *attribute = sheet_find_attribute(sheet, name);
    return attribute && !attribute->text ? attribute->number : (double)NAN;
}

double material_value(const struct sheet *sheet, const char *field, size_t row)
{
    const struct field *found = sheet_find(sheet, field);
    bool is_there = found && found->numbers && row < found->count;
    return is_there ? found->numbers[row] : (double)NAN;
}

const char *material_word(const struct sheet *sheet, const char *field, size_t row)
{
    const struct field *found = sheet_find(sheet, field);
    bool is_there = found && found->texts && row < found->count && found->texts[row];
    return is_there ? found->texts[row] : "";
}

bool material_is_among(const char *name, size_t count, const char *const list[])
{
    bool is_among = false;
    for (size_t i = 0; i < count; i++) {
        is_among = is_among || strcmp(name, list[i]) == 0;
    }
    return is_among;
}

size_t material_rows(const struct sheet *sheet, const char *field)
{
    const struct field *found = sheet_find(sheet, field);
    return found ? found->count : 0;
}

const char *material_end(const struct network *network, int point)
{
    int tank = network->points[point].tank;
    return tank == NETWORK_NONE ? network->points[point].name : network->tanks[tank].name;
}

/* Takes a group unless there is one already; *is_new tells that it was taken now. */
static bool take(const struct reader *reader, const char *path, struct sheet *sheet, bool *has,
                 bool *is_new, struct material *material, struct failure *failure)
{
    if (*has || reader_kind_at(reader, path) != READER_GROUP) {
        return true;
    }
    if (!reader_sheet(reader, path, sheet, NULL, material->arena, failure)) {
        return false;
    }
    *has = true;
    *is_new = true;
    return true;
}

static bool take_all(const struct reader *reader, bool *is_new, struct material *material,
                     struct failure *failure)
{
    bool is_old = false;
    return take(reader, "/steady", &material->steady, &material->has_steady, is_new, material,
                failure) &&
           take(reader, "/steady/findings", &material->findings, &material->has_findings, &is_old,
                material, failure) &&
           take(reader, "/choose", &material->choose, &material->has_choose, is_new, material,
                failure) &&
           take(reader, "/choose/sets", &material->sets, &material->has_sets, &is_old, material,
                failure) &&
           take(reader, "/surge", &material->surge, &material->has_surge, is_new, material,
                failure) &&
           take(reader, "/surge/sizing", &material->sizing, &material->has_sizing, is_new, material,
                failure) &&
           take(reader, "/filling", &material->filling, &material->has_filling, is_new, material,
                failure) &&
           take(reader, "/study/summary", &material->study, &material->has_study, is_new, material,
                failure) &&
           take(reader, "/study", &material->variants, &material->has_variants, &is_old, material,
                failure) &&
           take(reader, "/failures", &material->failures, &material->has_failures, is_new, material,
                failure) &&
           take(reader, "/study/limits", &material->limits, &material->has_limits, is_new, material,
                failure);
}

static bool is_same_case(const struct sheet *one, const struct sheet *other)
{
    const char *left = material_text(one, "case_sha256", "");
    const char *right = material_text(other, "case_sha256", "");
    return strcmp(left, right) == 0;
}

struct gathering {
    struct material *material;
    struct figures *figures;
    struct failure *failure;
    bool is_cut;
};

static const char *describe(enum figure_kind kind)
{
    switch (kind) {
    case FIGURE_SKETCH:
        return sketch_legend;
    case FIGURE_PUMP:
        return "Over the flow: the head the pump adds, and the head the site asks of it with all "
               "else as it is; where they cross it works. The numbers are in the table of the "
               "pumps.";
    case FIGURE_CURVES:
        return "Over the flow: what the pump in this run gives, what the site asks of it with each "
               "of the best valves, and below it the head that each valve takes; marks where it "
               "works in the best set of valves with it, the lines with the other valves as they "
               "are. The numbers are in the tables of the choice.";
    case FIGURE_PROFILE:
        return "Along the run: the pipe (and the ground where it was surveyed), the head before "
               "the event, the highest and the lowest "
               "head "
               "after it, the head its pressure class allows, and the head at which water boils. "
               "The numbers are in the table of the runs.";
    case FIGURE_TIME:
        return "Over time: the head at each gauge, and below it the flow past those that stand in "
               "a run. The highest and lowest stand in the table of the runs.";
    case FIGURE_VALVES:
        return "Over time: how far each non-return valve is open, and the velocity of the water in "
               "its bore, below zero backward; a mark where it first met its seat. The numbers are "
               "in the table of the valves.";
    case FIGURE_FRONT:
        return "Each variant of the study as a mark; the line joins those that no other beats.";
    case FIGURE_ALONE:
        return "How far each input alone moves the measure from the case as it stands.";
    case FIGURE_FAILURES:
        return "What follows when one thing fails, the worst on top: the darker a square, the "
               "graver; "
               "the figure is in it. A valve's pressures are those as the power fails too.";
    case FIGURE_SLAM:
        return "How fast the water runs backward as each non-return valve shuts, by how fast the "
               "water slows: in metres and seconds, and as shares of the velocity that just holds "
               "it fully open.";
    case FIGURE_FILLING:
        return "Over the hours: the level of each tank that moves, when each pump runs and what "
               "it gives, and the energy used so far. The numbers are in the tables of the hours.";
    case FIGURE_CHOICE:
        return "A bar for each suitable valve, the shortest the best, and below them those that "
               "are not suitable with what they fail. The numbers are in the tables of the choice.";
    }
    return "";
}

static void keep_picture(void *user, const char *path)
{
    struct gathering *gathering = user;
    struct material *material = gathering->material;
    size_t size = 0;
    if (material->picture_count >= MATERIAL_PICTURES_MAX) {
        gathering->is_cut = true;
        return;
    }
    struct picture *picture = &material->pictures[material->picture_count];
    picture->text = file_read(path, PICTURE_SIZE_MOST, material->arena, &size, gathering->failure);
    picture->title = arena_text(material->arena, gathering->figures->title);
    picture->description = describe(gathering->figures->kind);
    picture->has_legend = gathering->figures->kind == FIGURE_SKETCH;
    picture->is_tall = picture->has_legend || gathering->figures->kind == FIGURE_CHOICE;
    if (picture->text && picture->title) {
        material->picture_count++;
    } else {
        gathering->is_cut = true;
    }
}

static void note_missing(struct material *material, const char *why)
{
    size_t at = strlen(material->picture_why);
    (void)snprintf(material->picture_why + at, sizeof material->picture_why - at, "%s%s",
                   at > 0 ? "; " : "", why);
}

/* Draws on a bench of its own; what cannot be drawn is told in picture_why. */
static void draw(struct material *material, int count, struct reader *const readers[],
                 const bool is_drawn[], double patience)
{
    struct failure failure = {0};
    struct bench bench;
    struct figures figures = {.site = material->site,
                              .bench = &bench,
                              .arena = material->arena,
                              .format = "svg",
                              .stem = bench.folder};
    struct gathering gathering = {material, &figures, &failure, false};
    char stem[BENCH_PATH_SIZE + 16];
    figures.tell = keep_picture;
    figures.user = &gathering;
    bool is_good = bench_open(&bench, patience, &failure);
    (void)snprintf(stem, sizeof stem, "%s/report", bench.folder);
    figures.stem = stem;
    figures.reader = readers[0];
    if (is_good && material->site && !sketch_fits(material->site)) {
        note_missing(material, "the site has too many runs for a sketch");
    } else if (is_good && material->site && !figures_sketch(&figures, &failure)) {
        note_missing(material, failure.message);
    }
    for (int i = 0; is_good && i < count; i++) {
        figures.reader = readers[i];
        is_good = !is_drawn[i] || figures_make(&figures, &failure);
        figures.without_pumps = figures.without_pumps || is_drawn[i];
    }
    if (!is_good) {
        note_missing(material, failure.message);
    } else if (gathering.is_cut) {
        note_missing(material, "some were too many or too large to be kept");
    }
    bench_close(&bench);
}

static bool has_answer(const struct material *material)
{
    return material->has_steady || material->has_choose || material->has_surge ||
           material->has_sizing || material->has_filling || material->has_study ||
           material->has_failures;
}

bool material_gather(struct material *material, int count, struct reader *const readers[],
                     double patience, struct arena *arena, struct failure *failure)
{
    bool is_drawn[MATERIAL_FILES_MAX] = {false};
    const struct place nowhere = {0};
    memset(material, 0, sizeof *material);
    material->arena = arena;
    for (int i = 0; i < count && i < MATERIAL_FILES_MAX; i++) {
        struct sheet root;
        if (!reader_sheet(readers[i], "/", &root, NULL, arena, failure)) {
            return false;
        }
        if (i == 0) {
            material->root = root;
        } else if (!is_same_case(&material->root, &root)) {
            return fail(failure, FAILURE_INPUT, nowhere,
                        "the results files were not made from the same case; solve again what was "
                        "solved before the case changed, or report each file apart");
        }
        if (!take_all(readers[i], &is_drawn[i], material, failure)) {
            return false;
        }
    }
    if (!has_answer(material)) {
        return fail(failure, FAILURE_INPUT, nowhere,
                    "there are no results to report on; 'downsurge choose CASE --output FILE', "
                    "surge, steady, fill or study with --output make such");
    }
    material->site = case_again(readers[0], arena, &material->faults, sizeof material->case_why,
                                material->case_why);
    draw(material, count, readers, is_drawn, patience);
    return true;
}
