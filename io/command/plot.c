#include "io/command/command.h"
#include "io/command/list.h"
#include "io/plot/figures.h"
#include "io/results/json.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

static const struct option options[] = {
    {"format", 'f', "FORM", "svg png", "svg (the default) or png"},
    {NULL, 0, NULL, NULL, NULL},
};

struct plot {
    const struct request *request;
    struct json *json; /* NULL: plain lines */
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

/* The folder of --output and the results file's name without folder and ending. */
static bool make_stem(const struct request *request, size_t size, char stem[])
{
    const char *folder = request_value(request, "output", ".");
    const char *slash = strrchr(request->operands[0], '/');
    const char *name = slash ? slash + 1 : request->operands[0];
    const char *dot = strrchr(name, '.');
    int length = dot && dot > name ? (int)(dot - name) : (int)strlen(name);
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
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
    bool is_good = bench_open(&bench, &failure) && figures_make(figures, &failure);
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

static enum exit_code plot_file(const struct request *request, const struct reader *reader,
                                struct arena *arena)
{
    char stem[1024];
    struct json json;
    struct plot plot = {request, NULL};
    struct figures figures = {.reader = reader,
                              .arena = arena,
                              .format = request_value(request, "format", "svg"),
                              .stem = stem,
                              .tell = tell_picture,
                              .user = &plot};
    if (!make_stem(request, sizeof stem, stem)) {
        return EXIT_CODE_FILE;
    }
    if (!request_has(request, "json")) {
        return make(&plot, &figures);
    }
    plot.json = &json;
    json_start(&json, request->terminal->out);
    json_open_object(&json);
    json_key(&json, "pictures");
    json_open_array(&json);
    enum exit_code code = make(&plot, &figures);
    json_close_array(&json);
    json_close_object(&json);
    return code;
}

static enum exit_code run(const struct request *request)
{
    struct failure failure = {0};
    struct reader *reader = reader_open(request->operands[0], &failure);
    struct arena *arena = arena_new();
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!reader) {
        complain_failure(request->terminal, &failure);
        code = exit_code_of(&failure);
    } else if (!arena) {
        complain(request->terminal, "memory ended while making room for the results");
    } else {
        code = plot_file(request, reader, arena);
    }
    arena_free(arena);
    reader_close(reader);
    return code;
}

const struct command command_plot = {
    .name = "plot",
    .operands = "RESULTS",
    .summary = "Pictures of results by gnuplot",
    .details = "--output names the folder the pictures go into, by default the present one. Their\n"
               "names begin with the name of the results file and are told as they are made.",
    .example = "  downsurge plot site.h5 --format png --output pictures",
    .options = options,
    .run = run,
};
