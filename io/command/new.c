#include "io/command/command.h"
#include "io/command/list.h"
#include "io/results/json.h"
#include "io/results/whole_file.h"
#include "io/starter/starter.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { KIND, PUMP, VALVES, PUMPS, TANKS, CHOICE_COUNT };

static const struct option options[] = {
    [KIND] = {"kind", 0, "KIND", starter_kinds,
              "what the water comes from: pond, rain, spring, sump"},
    [PUMP] = {"pump", 0, "PLACE", starter_pumps,
              "the pump stands above the water, beside or under it"},
    [VALVES] = {"valves", 0, "WHERE", starter_valve_places,
                "non-return valves: delivery, foot or both (of a pump above)"},
    [PUMPS] = {"pumps", 0, "COUNT", "1 2", "pumps side by side: 1 or 2"},
    [TANKS] = {"tanks", 0, "COUNT", "1 2 3", "tanks that are filled: 1, 2 or 3"},
    {NULL, 0, NULL, NULL, NULL},
};

static const char *const usual[CHOICE_COUNT] = {"rain", "beside", "delivery", "1", "1"};

static bool is_watched(const struct request *request)
{
    for (int i = 0; i < CHOICE_COUNT; i++) {
        if (request_has(request, options[i].name)) {
            return false;
        }
    }
    return request->terminal->messages_are_watched && isatty(STDIN_FILENO) == 1 &&
           !request_has(request, "quiet") && !request_has(request, "json");
}

/* Asks until a word of the list comes; an empty line is the usual word. -1: nothing more comes. */
static int ask(const struct request *request, int choice)
{
    FILE *messages = request->terminal->messages;
    char line[64];
    for (;;) {
        (void)fprintf(messages, "%s [%s] ", options[choice].help, usual[choice]);
        (void)fflush(messages);
        if (!fgets(line, sizeof line, stdin)) {
            return -1;
        }
        line[strcspn(line, "\r\n")] = '\0';
        int number = option_word(&options[choice], *line ? line : usual[choice]);
        if (number >= 0) {
            return number;
        }
        (void)fprintf(messages, "  one of: %s\n", options[choice].words);
    }
}

static bool gather(const struct request *request, struct starter *starter)
{
    int numbers[CHOICE_COUNT] = {0};
    bool is_asked = is_watched(request);
    for (int i = 0; i < CHOICE_COUNT; i++) {
        const char *value = request_value(request, options[i].name, usual[i]);
        /* Only a pump above the water leaves a choice of places. */
        bool is_open = i != VALVES || numbers[PUMP] == STARTER_ABOVE;
        numbers[i] = is_asked && is_open ? ask(request, i) : option_word(&options[i], value);
        if (numbers[i] < 0) {
            complain(request->terminal, "no answer: nothing is written");
            return false;
        }
    }
    if (!is_asked && numbers[PUMP] == STARTER_ABOVE && !request_has(request, "valves")) {
        numbers[VALVES] = STARTER_BOTH;
    }
    starter->kind = (enum starter_kind)numbers[KIND];
    starter->pump = (enum starter_pump)numbers[PUMP];
    starter->valves = (enum starter_valves)numbers[VALVES];
    starter->pump_count = numbers[PUMPS] + 1;
    starter->tank_count = numbers[TANKS] + 1;
    return true;
}

/* A file that is there is never touched, nor half a one left. */
static bool write_new(const struct request *request, const struct starter *starter)
{
    const char *path = request->operands[0];
    struct failure failure = {0};
    struct stat status;
    if (lstat(path, &status) == 0) {
        complain(request->terminal, "%s is there already; choose another name", path);
        return false;
    }
    struct whole_file *file = whole_file_open(path, NULL, &failure);
    if (file) {
        starter_write(starter, whole_file_stream(file));
    }
    if (!file || !whole_file_finish_new(file, &failure)) {
        complain_failure(request->terminal, &failure);
        return false;
    }
    return true;
}

static void tell(const struct request *request)
{
    const char *path = request->operands[0];
    if (request_has(request, "json")) {
        struct json json;
        json_start(&json, request->terminal->out);
        json_open_object(&json);
        json_key(&json, "case");
        json_text(&json, path);
        json_close_object(&json);
    } else if (!request_has(request, "quiet")) {
        (void)fprintf(request->terminal->out,
                      "%s: change its numbers to your site's, then\n  downsurge check %s\n", path,
                      path);
    }
}

static enum exit_code run(const struct request *request)
{
    struct starter starter = {0};
    if (request_has(request, "output")) {
        complain(request->terminal,
                 "new writes the file that its first word names; leave out --output");
        return EXIT_CODE_INPUT;
    }
    if (!gather(request, &starter)) {
        return EXIT_CODE_INPUT;
    }
    const char *refusal = starter_refusal(&starter);
    if (refusal) {
        complain(request->terminal, "%s", refusal);
        return EXIT_CODE_INPUT;
    }
    if (!write_new(request, &starter)) {
        return EXIT_CODE_FILE;
    }
    tell(request);
    return EXIT_CODE_DONE;
}

const struct command command_new = {
    .name = "new",
    .operands = "CASE",
    .summary = "Write a case file to go on from, with comments",
    .details =
        "By a few choices; on a terminal without options they are asked for. Can be solved as\n"
        "it is. A file that is there is never touched. Without choices: rain water, one pump\n"
        "beside its tank with a valve on its delivery, one tank.",
    .example = "  downsurge new garden.yaml --kind rain --pump above --valves both --tanks 2",
    .options = options,
    .run = run,
};
