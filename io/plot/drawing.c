#include "io/plot/drawing.h"

#include "io/results/columns.h"

#include <errno.h>
#include <string.h>

bool figures_close_data(FILE *file, struct failure *failure)
{
    const struct place nowhere = {0};
    bool is_bad = ferror(file) != 0;
    is_bad = fclose(file) != 0 || is_bad;
    return !is_bad || fail(failure, FAILURE_FILE, nowhere,
                           "plot: the data could not be written: %s", strerror(errno));
}

bool figures_write_field(const struct figures *figures, const struct sheet *sheet, const char *name,
                         const char *file_name, struct failure *failure)
{
    const struct field *field = sheet_find(sheet, name);
    FILE *file = bench_file(figures->bench, file_name, failure);
    if (!file) {
        return false;
    }
    if (field) {
        columns_field(sheet, field, COLUMNS_BLANK, file);
    }
    return figures_close_data(file, failure);
}

/* What may stand in a file's name anywhere: letters, digits, '-', '.', '_'; the rest becomes '_'.
 */
static void plain_name(const char *text, size_t size, char name[])
{
    size_t at = 0;
    for (; *text && at + 1 < size; text++) {
        unsigned char letter = (unsigned char)*text;
        bool is_plain = (letter >= '0' && letter <= '9') || (letter >= 'A' && letter <= 'Z') ||
                        (letter >= 'a' && letter <= 'z') || strchr("-._", letter);
        name[at++] = *text;
        if (!is_plain) {
            name[at - 1] = '_';
        }
    }
    name[at] = '\0';
}

void figures_path(const struct figures *figures, const char *name, char path[FIGURE_PATH_SIZE])
{
    char plain[FIGURE_NAME_SIZE];
    plain_name(name, sizeof plain, plain);
    (void)snprintf(path, FIGURE_PATH_SIZE, "%s-%s.%s", figures->stem, plain, figures->format);
}

void figures_note(struct figures *figures, enum figure_kind kind, const char *path)
{
    figures->count++;
    figures->kind = kind;
    if (figures->tell) {
        figures->tell(figures->user, path);
    }
}

bool figures_draw(struct figures *figures, enum figure_kind kind, const char *const words[],
                  const char *name, struct failure *failure)
{
    static const char *const scripts[] = {
        [FIGURE_PUMP] = "pump.gp",       [FIGURE_CURVES] = "pump.gp",
        [FIGURE_PROFILE] = "profile.gp", [FIGURE_TIME] = "time.gp",
        [FIGURE_VALVES] = "valves.gp",   [FIGURE_CHOICE] = "choice.gp",
        [FIGURE_FILLING] = "filling.gp", [FIGURE_FRONT] = "front.gp",
        [FIGURE_ALONE] = "alone.gp",     [FIGURE_SLAM] = "slam.gp",
        [FIGURE_FAILURES] = "heat.gp"};
    char path[FIGURE_PATH_SIZE];
    figures_path(figures, name, path);
    if (!bench_plot(figures->bench, scripts[kind], words, "picture", path, failure)) {
        return false;
    }
    figures_note(figures, kind, path);
    return true;
}

static const char *site_name(const struct figures *figures)
{
    struct failure failure = {0};
    struct sheet root;
    const struct attribute *site = NULL;
    if (reader_sheet(figures->reader, "/", &root, NULL, figures->arena, &failure)) {
        site = sheet_find_attribute(&root, "site");
    }
    return site && site->text ? site->text : "";
}

void figures_title(struct figures *figures, const char *what)
{
    const char *site = site_name(figures);
    (void)snprintf(figures->title, sizeof figures->title, "%.200s%s%s", site, *site ? ": " : "",
                   what);
    if (!*site && *what >= 'a' && *what <= 'z') {
        figures->title[0] = (char)(*what - 'a' + 'A');
    }
}
