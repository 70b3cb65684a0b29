#include "io/results/failures_sheet.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { WORDS_SIZE = 600, LABEL_SIZE = 160 };

static const char *link_name(const struct site *site, int link)
{
    return link == NETWORK_NONE ? "" : site->network->links[link].name;
}

static const char *tank_name(const struct site *site, int tank)
{
    return tank == NETWORK_NONE ? "" : site->network->tanks[tank].name;
}

/* --- words --- */

struct words {
    size_t size;
    size_t used;
    char *text;
};

PRINTF_LIKE(2, 3)
static void say(struct words *words, const char *format, ...)
{
    va_list arguments;
    if (words->used + 3 < words->size && words->used > 0) {
        memcpy(words->text + words->used, "; ", sizeof "; ");
        words->used += 2;
    }
    va_start(arguments, format);
    const int length =
        vsnprintf(words->text + words->used, words->size - words->used, format, arguments);
    va_end(arguments);
    words->used += length > 0 ? (size_t)length : 0;
    words->used = words->used < words->size ? words->used : words->size - 1;
}

/* "20 min", "3.2 h", "2 days" */
static const char *duration(double seconds, size_t size, char text[])
{
    if (seconds < 120.0) {
        (void)snprintf(text, size, "%.0f s", seconds);
    } else if (seconds < 7200.0) {
        (void)snprintf(text, size, "%.0f min", seconds / 60.0);
    } else if (seconds < 172800.0) {
        (void)snprintf(text, size, "%.1f h", seconds / 3600.0);
    } else {
        (void)snprintf(text, size, "%.0f days", seconds / 86400.0);
    }
    return text;
}

static void say_tanks(struct words *words, const struct site *site, const struct failed *item)
{
    char text[40];
    if (item->overflow_tank != NETWORK_NONE) {
        say(words, "%s runs over in %s", tank_name(site, item->overflow_tank),
            duration(item->overflow_time, sizeof text, text));
    }
    if (item->dry_tank != NETWORK_NONE) {
        say(words, "%s is dry in %s", tank_name(site, item->dry_tank),
            duration(item->dry_time, sizeof text, text));
    }
}

static void say_surge(struct words *words, const struct site *site, const struct failed *item)
{
    if (item->backward_pump != NETWORK_NONE) {
        say(words, "pump %s turns backward, to %.0f %% of its speed",
            link_name(site, item->backward_pump), -100.0 * item->lowest_speed);
    }
    if (item->highest_share > 1.0) {
        say(words, "highest pressure %.0f %% of the class", 100.0 * item->highest_share);
    }
    if (item->lowest_margin <= 0.0) {
        say(words, "the water boils as it stops");
    }
    if (!item->is_surged && item->kind != FAILED_NOTHING) {
        say(words, "pressures as it stops not known");
    }
}

void failures_words(const struct site *site, const struct failed *item, const struct failed *sound,
                    size_t size, char text[])
{
    struct words words = {size, 0, text};
    text[0] = '\0';
    if (!item->is_solved) {
        say(&words, "no steady answer was found");
    }
    if (item->delivered < 0.99 * sound->delivered) {
        say(&words, "%.2f L/s pumped instead of %.2f", 1e3 * item->delivered,
            1e3 * sound->delivered);
    }
    if (item->back_link != NETWORK_NONE) {
        say(&words, "%.2f L/s back through %s", 1e3 * item->flow_back,
            link_name(site, item->back_link));
    }
    if (item->loses_prime) {
        say(&words, "its pump may lose its prime");
    }
    say_tanks(&words, site, item);
    say_surge(&words, site, item);
    if (words.used == 0) {
        say(&words, "nothing that is seen");
    }
}

/* --- the sheet --- */

static bool add_texts(const struct site *site, const struct failures *failures, int along,
                      struct sheet *sheet, struct arena *arena)
{
    enum { LABEL, GRADE, THEN, BACK_AT, OVERFLOW, DRY, BACKWARD, TEXT_COUNT };
    static const struct field_head heads[TEXT_COUNT] = {
        [LABEL] = {"failure", "1", "what fails"},
        [GRADE] = {"grade", "1", "how bad it is"},
        [THEN] = {"then", "1", "what follows"},
        [BACK_AT] = {"back_at", "1", "part through which most water flows back"},
        [OVERFLOW] = {"overflow_tank", "1", "tank that runs over first"},
        [DRY] = {"dry_tank", "1", "tank that is dry first"},
        [BACKWARD] = {"backward_pump", "1", "pump that turns backward most"},
    };
    char words[WORDS_SIZE];
    char label[LABEL_SIZE];
    char grade[LABEL_SIZE];
    for (int k = 0; k < TEXT_COUNT; k++) {
        const char **texts = arena_take(arena, (size_t)failures->count, sizeof(const char *));
        if (!texts) {
            return false;
        }
        for (int i = 0; i < failures->count; i++) {
            const struct failed *item = &failures->items[i];
            failures_words(site, item, &failures->sound, sizeof words, words);
            const char *name = link_name(site, item->link);
            (void)snprintf(label, sizeof label, "%s%s%s", name, *name ? " " : "",
                           failed_kind_text(item->kind));
            const bool has_kind = item->worst != SEVERITY_NONE && item->worst != SEVERITY_UNKNOWN;
            (void)snprintf(grade, sizeof grade, "%s%s%s", severity_text(item->worst),
                           has_kind ? ": " : "", has_kind ? consequence_text(item->what) : "");
            const char *const all[TEXT_COUNT] = {
                [LABEL] = label,
                [GRADE] = grade,
                [THEN] = words,
                [BACK_AT] = link_name(site, item->back_link),
                [OVERFLOW] = tank_name(site, item->overflow_tank),
                [DRY] = tank_name(site, item->dry_tank),
                [BACKWARD] = link_name(site, item->backward_pump),
            };
            texts[i] = arena_text(arena, all[k]);
            if (!texts[i]) {
                return false;
            }
        }
        sheet_texts(sheet, heads[k], along, texts);
    }
    return true;
}

static bool add_numbers(const struct failures *failures, int along, struct sheet *sheet,
                        struct arena *arena)
{
    static const struct {
        struct field_head head;
        size_t offset;
    } parts[] = {
        {{"delivered", "m3 s-1", "through the running pumps"}, offsetof(struct failed, delivered)},
        {{"flow_back", "m3 s-1", "backward through the valve or a pump"},
         offsetof(struct failed, flow_back)},
        {{"overflow_time", "s", "until a tank runs over, at the first rate"},
         offsetof(struct failed, overflow_time)},
        {{"dry_time", "s", "until a tank is dry, at the first rate"},
         offsetof(struct failed, dry_time)},
        {{"highest_share", "1", "highest pressure as a share of what the pipe allows"},
         offsetof(struct failed, highest_share)},
        {{"lowest_margin", "m", "lowest head above boiling"},
         offsetof(struct failed, lowest_margin)},
        {{"lowest_speed", "1", "speed of a pump that turns backward, share of rated"},
         offsetof(struct failed, lowest_speed)},
    };
    double *grade = arena_take(arena, (size_t)failures->count, sizeof *grade);
    double *prime = arena_take(arena, (size_t)failures->count, sizeof *prime);
    for (size_t k = 0; k < sizeof parts / sizeof *parts; k++) {
        double *column = arena_take(arena, (size_t)failures->count, sizeof *column);
        if (!grade || !prime || !column) {
            return false;
        }
        for (int i = 0; i < failures->count; i++) {
            memcpy(&column[i], (const char *)&failures->items[i] + parts[k].offset, sizeof *column);
            grade[i] = (double)failures->items[i].worst;
            prime[i] = failures->items[i].loses_prime ? 1.0 : 0.0;
        }
        sheet_numbers(sheet, parts[k].head, along, column);
    }
    sheet_wholes(sheet,
                 (struct field_head){"grade_number", "1",
                                     "0 bearable, 1 slight, 2 serious, 3 grave, 4 not known"},
                 along, grade);
    sheet_wholes(sheet, (struct field_head){"loses_prime", "1", "1: a pump may lose its prime"},
                 along, prime);
    return true;
}

/* How grave each consequence of each failure is. */
static bool add_severities(const struct failures *failures, int along, struct sheet *sheet,
                           struct arena *arena)
{
    const size_t count = (size_t)failures->count;
    const char **names = arena_take(arena, CONSEQUENCE_COUNT, sizeof(const char *));
    double *values = arena_take(arena, count * CONSEQUENCE_COUNT, sizeof *values);
    if (!names || !values) {
        return false;
    }
    const int across = sheet_dimension(sheet, "consequence", CONSEQUENCE_COUNT);
    for (size_t k = 0; k < CONSEQUENCE_COUNT; k++) {
        names[k] = consequence_text((enum consequence)k);
        for (size_t i = 0; i < count; i++) {
            values[i * CONSEQUENCE_COUNT + k] = (double)failures->items[i].severity[k];
        }
    }
    sheet_texts(sheet, (struct field_head){"consequence", "1", "what may follow"}, across, names);
    sheet_field(sheet, &(struct field){.name = "severity",
                                       .units = "1",
                                       .long_name = "0 nothing, 1 slight, 2 serious, 3 grave",
                                       .kind = FIELD_WHOLE,
                                       .rank = 2,
                                       .dimension = {along, across},
                                       .count = count * CONSEQUENCE_COUNT,
                                       .numbers = values});
    return true;
}

bool failures_sheet(const struct site *site, const struct failures *failures, struct sheet *sheet,
                    struct arena *arena, struct failure *failure)
{
    sheet_init(sheet, "/failures");
    sheet_attribute_number(sheet, "sound_delivered_m3_s", failures->sound.delivered);
    const int along = sheet_dimension(sheet, "failure", (size_t)failures->count);
    return (add_texts(site, failures, along, sheet, arena) &&
            add_numbers(failures, along, sheet, arena) &&
            add_severities(failures, along, sheet, arena)) ||
           fail_memory(failure, "the results of the failures");
}
