#include "io/results/findings_sheet.h"

#include "io/terminal/prose.h"

#include <math.h>
#include <string.h>

/* A list of a thousand like findings helps nobody: so many of a rule are shown. */
enum { LEVELS = 3, RULES_MOST = 64, SHOWN_OF_A_RULE = 20 };
static const enum finding_level gravest_first[LEVELS] = {FINDING_FAILED, FINDING_WARNING,
                                                         FINDING_NOTE};

/* Copies the findings in the order they are told. */
static const struct finding **in_order(const struct findings *findings, struct arena *arena)
{
    const struct finding **order =
        arena_take(arena, (size_t)findings->count + 1, sizeof(struct finding *));
    int count = 0;
    for (int level = 0; order && level < LEVELS; level++) {
        for (int i = 0; i < findings->count; i++) {
            if (findings->items[i].level == gravest_first[level]) {
                order[count++] = &findings->items[i];
            }
        }
    }
    return order;
}

enum {
    TEXT_LEVEL,
    TEXT_RULE,
    TEXT_SUBJECT,
    TEXT_OTHER,
    TEXT_TEXT,
    TEXT_UNIT,
    TEXT_REMEDY,
    TEXT_SOURCE,
    TEXTS
};

static void fill_texts(const struct finding *finding, int count, const char **column)
{
    const char *texts[TEXTS] = {finding_level_text(finding->level),
                                finding->rule,
                                finding->subject,
                                finding->other,
                                finding->text,
                                finding->unit,
                                finding->remedy,
                                finding->source};
    for (int k = 0; k < TEXTS; k++) {
        column[(ptrdiff_t)k * count] = texts[k];
    }
}

bool findings_sheet(const struct findings *findings, const char *path, struct sheet *sheet,
                    struct arena *arena, struct failure *failure)
{
    static const struct field_head heads[TEXTS] = {
        {"level", "1", "how grave it is"},
        {"rule", "1", "the rule that found it"},
        {"subject", "1", "what it is about"},
        {"other", "1", "second subject, the tank that is fed"},
        {"text", "1", "what the number is"},
        {"unit", "1", "unit of value and limit"},
        {"remedy", "1", "what to do"},
        {"source", "1", "source of the limit"},
    };
    int count = findings->count;
    const struct finding **order = in_order(findings, arena);
    const char **texts = arena_take(arena, TEXTS * (size_t)count, sizeof *texts);
    double *number = arena_take(arena, 4 * (size_t)count, sizeof *number);
    if (!order || !texts || !number) {
        return fail_memory(failure, "the findings");
    }
    double *value = number + count;
    double *limit = value + count;
    double *line = limit + count;
    for (int i = 0; i < count; i++) {
        number[i] = i + 1;
        value[i] = order[i]->value;
        limit[i] = order[i]->limit;
        line[i] = order[i]->place.line;
        fill_texts(order[i], count, texts + i);
    }
    sheet_init(sheet, path);
    int along = sheet_dimension(sheet, "finding", (size_t)count);
    sheet_wholes(sheet, (struct field_head){"finding", "1", "number of the finding"}, along,
                 number);
    for (int k = 0; k < TEXTS; k++) {
        sheet_texts(sheet, heads[k], along, texts + (ptrdiff_t)k * count);
    }
    sheet_numbers(sheet, (struct field_head){"value", "1", "value seen, in `unit`"}, along, value);
    sheet_numbers(sheet, (struct field_head){"limit", "1", "limit, in `unit`"}, along, limit);
    sheet_wholes(sheet, (struct field_head){"line", "1", "line of the case file, 0: nowhere"},
                 along, line);
    return true;
}

/* How SI units of findings are shown. */
struct shown_unit {
    const char *unit;
    const char *shown;
    double factor;
    int decimals;
};

void findings_value(size_t size, char text[], double value, const char *unit)
{
    static const struct shown_unit units[] = {
        {"m", "m", 1.0, 2},      {"m/s", "m/s", 1.0, 2}, {"Pa", "bar", 1e-5, 2}, {"s", "s", 1.0, 2},
        {"m3/s", "L/s", 1e3, 2}, {"W", "kW", 1e-3, 2},   {"m3", "L", 1e3, 1},
    };
    if (strcmp(unit, "s") == 0 && fabs(value) >= 7200.0) {
        (void)snprintf(text, size, "%.1f h", value / 3600.0);
        return;
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(units[i].unit, unit) == 0) {
            (void)snprintf(text, size, "%.*f %s", units[i].decimals, units[i].factor * value,
                           units[i].shown);
            return;
        }
    }
    (void)snprintf(text, size, "%.3g%s%s", value, strcmp(unit, "1") == 0 ? "" : " ",
                   strcmp(unit, "1") == 0 ? "" : unit);
}

static void print_one(const struct finding *finding, const struct terminal *terminal)
{
    enum terminal_tone tone = finding->level == FINDING_NOTE      ? TONE_STRONG
                              : finding->level == FINDING_WARNING ? TONE_WARNING
                                                                  : TONE_ERROR;
    const char *unit = finding->unit ? finding->unit : "1";
    char amount[64];
    struct prose prose;
    prose_answers(&prose, terminal);
    prose.extra = 2;
    prose_add(&prose, "  ");
    prose_tone(&prose, terminal->out_has_colour, tone, finding_level_text(finding->level));
    prose_add(&prose, ": %s", finding->subject ? finding->subject : "the site");
    if (finding->other) {
        prose_add(&prose, " to %s", finding->other);
    }
    prose_add(&prose, ": %s", finding->text);
    if (!isnan(finding->value)) {
        findings_value(sizeof amount, amount, finding->value, unit);
        prose_add(&prose, ": %s", amount);
    }
    /* A rule without a limit has 0 there, or NAN. */
    if (!isnan(finding->value) && fabs(finding->limit) > 0.0) {
        findings_value(sizeof amount, amount, finding->limit, unit);
        prose_add(&prose, ", limit %s", amount);
    }
    prose_add(&prose, "\n");
    if (finding->remedy && *finding->remedy) {
        prose_tell(terminal, "      %s\n", finding->remedy);
    }
}

/* How often each rule has spoken. */
struct tally {
    int count;
    struct {
        const char *rule;
        int times;
    } rules[RULES_MOST];
};

/* Counts the finding; how often its rule has now spoken. */
static int tally_add(struct tally *tally, const struct finding *finding)
{
    int i = 0;
    while (i < tally->count && strcmp(tally->rules[i].rule, finding->rule) != 0) {
        i++;
    }
    if (i == RULES_MOST) {
        return 0;
    }
    if (i == tally->count) {
        tally->rules[tally->count++].rule = finding->rule;
    }
    return ++tally->rules[i].times;
}

void findings_print(const struct findings *findings, const struct terminal *terminal)
{
    if (findings->count == 0) {
        (void)fputs("Findings: none.\n", terminal->out);
        return;
    }
    terminal_say(terminal, TONE_STRONG, "Findings\n");
    for (int level = 0; level < LEVELS; level++) {
        struct tally tally = {0};
        for (int i = 0; i < findings->count; i++) {
            const struct finding *finding = &findings->items[i];
            if (finding->level == gravest_first[level] &&
                tally_add(&tally, finding) <= SHOWN_OF_A_RULE) {
                print_one(finding, terminal);
            }
        }
        for (int i = 0; i < tally.count; i++) {
            if (tally.rules[i].times > SHOWN_OF_A_RULE) {
                (void)fprintf(terminal->out,
                              "  and %d more of '%s'; --json and --output tell all of them\n",
                              tally.rules[i].times - SHOWN_OF_A_RULE, tally.rules[i].rule);
            }
        }
    }
    if (findings->is_cut) {
        (void)fputs("  memory ended: findings are missing\n", terminal->out);
    }
}
