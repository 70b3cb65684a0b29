#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/patience.h"
#include "io/door/door.h"
#include "io/plot/figures.h"
#include "io/report/case_again.h"
#include "io/results/json.h"
#include "io/sketch/sketch.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct option options[] = {
    {"format", 'f', "FORM", "svg png pdf", "svg (the default), png or pdf"},
    PATIENCE_OPTION,
    {NULL, 0, NULL, NULL, NULL},
};

struct plot {
    const struct request *request;
    struct json *json; /* NULL: plain lines */
    double patience;
};

static void tell_picture(void *user, const char *path)
{
    const struct plot *plot = user;
    if (plot->json) {
        json_text(plot->json, path);
    } else if (!request_has(plot->request, "quiet")) {
        (void)fprintf(plot->request->terminal->out, "%s\n", path);
    }
}

/* The folder of --output, made if it is not there (*is_made), and the results file's name without
 * folder and ending. */
static bool make_stem(const struct request *request, size_t size, char stem[], bool *is_made)
{
    const char *folder = request_value(request, "output", ".");
    const char *slash = strrchr(request->operands[0], '/');
    const char *name = slash ? slash + 1 : request->operands[0];
    const char *dot = strrchr(name, '.');
    int length = dot && dot > name ? (int)(dot - name) : (int)strlen(name);
    *is_made = mkdir(folder, 0777) == 0;
    if (!*is_made && errno != EEXIST) {
        complain(request->terminal, "folder '%s' could not be made: %s", folder, strerror(errno));
        return false;
    }
    int written = strcmp(folder, ".") == 0 ? snprintf(stem, size, "%.*s", length, name)
                                           : snprintf(stem, size, "%s/%.*s", folder, length, name);
    if (written < 0 || (size_t)written >= size) {
        complain(request->terminal, "folder '%s': the name is too long", folder);
        return false;
    }
    return true;
}

static enum exit_code make(struct plot *plot, struct figures *figures)
{
    const struct request *request = plot->request;
    struct failure failure = {0};
    struct bench bench;
    figures->bench = &bench;
    bool is_good = bench_open(&bench, plot->patience, &failure) &&
                   (!figures->site || figures_sketch(figures, &failure)) &&
                   (!figures->reader || figures_make(figures, &failure));
    figures->bench = NULL;
    bench_close(&bench);
    if (!is_good) {
        complain_failure(request->terminal, &failure);
        return exit_code_of(&failure);
    }
    if (figures->count == 0) {
        complain(request->terminal,
                 "%s holds nothing to draw; 'downsurge surge CASE --output FILE' makes results "
                 "that can be drawn",
                 request->operands[0]);
        return EXIT_CODE_INPUT;
    }
    return EXIT_CODE_DONE;
}

static enum exit_code make_told(struct plot *plot, struct figures *figures)
{
    struct json json;
    if (!request_has(plot->request, "json")) {
        return make(plot, figures);
    }
    plot->json = &json;
    json_start(&json, plot->request->terminal->out);
    json_open_object(&json);
    json_key(&json, "pictures");
    json_open_array(&json);
    enum exit_code code = make(plot, figures);
    json_close_array(&json);
    json_close_object(&json);
    plot->json = NULL;
    return code;
}

static enum exit_code plot_file(const struct request *request, const struct reader *reader,
                                const struct site *site, struct arena *arena)
{
    char stem[1024];
    bool is_made = false;
    struct plot plot = {request, NULL, 0.0};
    struct figures figures = {.reader = reader,
                              .site = site,
                              .arena = arena,
                              .format = request_value(request, "format", "svg"),
                              .stem = stem,
                              .tell = tell_picture,
                              .user = &plot};
    if (site && !sketch_fits(site)) {
        complain(request->terminal,
                 "no sketch was made: it has room for %d runs, the site has more",
                 SKETCH_LINES_MOST);
        figures.site = NULL;
    }
    if (!patience_read(request, &plot.patience)) {
        return EXIT_CODE_INPUT;
    }
    if (!make_stem(request, sizeof stem, stem, &is_made)) {
        return EXIT_CODE_FILE;
    }
    const enum exit_code code = make_told(&plot, &figures);
    if (is_made && figures.count == 0) {
        (void)rmdir(request_value(request, "output", "."));
    }
    return code;
}

static enum exit_code plot_results(const struct request *request, struct arena *arena)
{
    char why[FAILURE_MESSAGE_SIZE + 80];
    struct failure failure = {0};
    struct faults faults;
    struct reader *reader = reader_open(request->operands[0], &failure);
    if (!reader) {
        complain_failure(request->terminal, &failure);
        return exit_code_of(&failure);
    }
    const struct site *site = case_again(reader, arena, &faults, sizeof why, why);
    if (!site) {
        complain(request->terminal, "no sketch of the site was made: %s", why);
    }
    enum exit_code code = plot_file(request, reader, site, arena);
    reader_close(reader);
    return code;
}

static enum exit_code plot_case(const struct request *request, struct arena *arena)
{
    struct site *site = NULL;
    struct faults faults;
    faults_init(&faults, arena);
    if (!read_site(request->operands[0], arena, &site, &faults)) {
        complain_faults(request->terminal, &faults);
        return faults.memory_ended ? EXIT_CODE_NO_SOLUTION : EXIT_CODE_INPUT;
    }
    return plot_file(request, NULL, site, arena);
}

/* A case file is told by the ending of its name. */
static bool is_case(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot && (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0);
}

static enum exit_code run(const struct request *request)
{
    struct arena *arena = arena_new();
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!arena) {
        complain(request->terminal, "memory ended while making room for the results");
    } else if (is_case(request->operands[0])) {
        code = plot_case(request, arena);
    } else {
        code = plot_results(request, arena);
    }
    arena_free(arena);
    return code;
}

const struct command command_plot = {
    .name = "plot",
    .operands = "CASE|RESULTS",
    .summary = "Pictures of results, and a sketch of the site",
    .details = "Of a case file (.yaml) only the sketch. Needs gnuplot and Graphviz.\n"
               "--output names the folder the pictures go into, by default the present one. Their\n"
               "names begin with the name of the results file and are told as they are made. The\n"
               "sketch has plain shapes of our own, told below it.",
    .example = "  downsurge plot site.h5 --format png --output pictures",
    .options = options,
    .reads_results = true,
    .run = run,
};
