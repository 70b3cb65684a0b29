#include "io/command/surge_cycles.h"

#include "io/results/surge_sheet.h"
#include "io/terminal/prose.h"
#include "models/fatigue.h"

#include <math.h>

/* What the runs say together. */
struct cycles {
    int known;     /* runs of a material that is known to tire */
    int told;      /* cautions */
    double swing;  /* largest share of the class */
    double fewest; /* cycles until a wall breaks */
};

static void caution_swing(const struct work *work, const char *run, double swing, double a_day)
{
    const struct terminal *to = &work->terminal;
    if (a_day > 0.0) {
        prose_mark(
            to, TONE_WARNING, "caution",
            "%s: its pressure comes and goes by %.0f %% of what its class allows, %.6g times "
            "a day; PVC tires of more than %.0f %% (CP 312, 1977; over-cautious, say its "
            "successors): a higher class, fewer starts, a slower stop\n",
            run, 100.0 * swing, a_day, 100.0 * fatigue_swing_share);
        return;
    }
    prose_mark(to, TONE_WARNING, "caution",
               "%s: its pressure comes and goes by %.0f %% of what its class allows; PVC tires of "
               "more than %.0f %% (CP 312, 1977; over-cautious, say its successors) where that is "
               "often, here taken as more than %.0f times a day: state 'times a day' in the "
               "section surge\n",
               run, 100.0 * swing, 100.0 * fatigue_swing_share, fatigue_few_a_day);
}

static void caution_years(const struct work *work, const char *run, double cycles, double a_day)
{
    prose_mark(&work->terminal, TONE_WARNING, "caution",
               "%s: its wall bears some %.1e cycles up to its highest pressure, %.3g years at %.6g "
               "a day (Vinson, 1981, from memory; each counted twice, as it swings to and fro); at "
               "least %.0f are asked, twice the usual 50\n",
               run, cycles, fatigue_years(cycles, a_day), a_day, fatigue_years_asked);
}

static void look_at_run(const struct work *work, const struct sheet *sheet, size_t i,
                        struct cycles *all)
{
    const double a_day = sheet_find_attribute(sheet, "times_a_day")->number;
    const char *run = sheet_find(sheet, "run")->texts[i];
    const double swing = sheet_find(sheet, "run_swing_share")->numbers[i];
    const double cycles = sheet_find(sheet, "run_cycles")->numbers[i];
    all->known += !isnan(cycles);
    all->swing = fmax(all->swing, swing);
    all->fewest = fmin(all->fewest, cycles);
    if (fatigue_swings_too_far(swing, a_day)) {
        caution_swing(work, run, swing, a_day);
        all->told++;
    }
    if (fatigue_is_short(cycles, a_day)) {
        caution_years(work, run, cycles, a_day);
        all->told++;
    }
}

void surge_cycles_tell(const struct work *work, const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    const double a_day = sheet_find_attribute(sheet, "times_a_day")->number;
    const size_t count = sheet_find(sheet, "run")->count;
    struct prose prose;
    struct cycles all = {.swing = NAN, .fewest = HUGE_VAL};
    for (size_t i = 0; i < count; i++) {
        look_at_run(work, sheet, i, &all);
    }
    if (!(a_day > 0.0) || all.told > 0) {
        return;
    }
    if (all.known == 0) {
        prose_tell(
            to,
            "Pressure that comes and goes, %.6g times a day: there are figures for PVC only, "
            "of which no pipe here is known to be; tough polyethylene needs no reduction for "
            "it within its class (UK water industry note IGN 4-37-02, 1999).\n",
            a_day);
        return;
    }
    prose_answers(&prose, to);
    prose_add(&prose,
              "Pressure that comes and goes, %.6g times a day (known in %d of %zu run%s): ", a_day,
              all.known, count, count == 1 ? "" : "s");
    if (isfinite(all.swing)) {
        prose_add(
            &prose,
            "by at most %.0f %% of what a class of PVC allows (of more than %.0f %% it tires: "
            "CP 312, 1977",
            100.0 * all.swing, 100.0 * fatigue_swing_share);
        if (all.swing > fatigue_swing_share) {
            prose_add(&prose, "; up to %.0f times a day are taken as too few for that",
                      fatigue_few_a_day);
        }
        prose_add(&prose, "); ");
    }
    prose_add(&prose, "no wall of it breaks within %.0f years (Vinson, 1981, from memory).\n",
              fmin(fatigue_years(all.fewest, a_day), 1000.0));
}
