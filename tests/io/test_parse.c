/* Words of the command line into a request. */
#include "io/command/command.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static const struct option options[] = {{"format", 'f', "FORM", "svg png", "picture"},
                                        {NULL, 0, NULL, NULL, NULL}};
static const struct command command = {
    .name = "draw", .operands = "RESULTS [PATH]", .options = options};

/* Parses, and keeps what was said in `said`. */
static bool parse(struct request *request, int count, char *words[], char **said)
{
    size_t size = 0;
    static struct terminal terminal;
    FILE *messages = open_memstream(said, &size);
    cr_assert(messages);
    terminal = (struct terminal){.out = messages, .messages = messages};
    *request = (struct request){.terminal = &terminal};
    bool is_good = request_parse(request, &command, count, words);
    fclose(messages);
    return is_good;
}

Test(parse, takes_options_in_every_spelling_and_order)
{
    struct request request;
    char *said = NULL;
    char *words[] = {"-q", "a.h5", "--format=png", "-ofile", "--", "--odd"};
    cr_assert(parse(&request, 6, words, &said), "%s", said);
    cr_assert_eq(request.operand_count, 2);
    cr_assert_str_eq(request.operands[0], "a.h5");
    cr_assert_str_eq(request.operands[1], "--odd");
    cr_assert(request_has(&request, "quiet"));
    cr_assert_not(request_has(&request, "json"));
    cr_assert_str_eq(request_value(&request, "format", "svg"), "png");
    cr_assert_str_eq(request_value(&request, "output", ""), "file");
    free(said);
}

static void refuses(int count, char *words[], const char *says)
{
    struct request request;
    char *said = NULL;
    cr_assert_not(parse(&request, count, words, &said), "%s was taken", words[0]);
    cr_assert(strstr(said, says), "said: %s", said);
    free(said);
}

Test(parse, refuses_what_makes_no_sense_and_tells_the_remedy)
{
    char *unknown[] = {"a", "--fromat", "svg"};
    char *word[] = {"a", "--format", "xls"};
    char *value[] = {"a", "--format"};
    char *plain[] = {"a", "--json=1"};
    char *many[] = {"a", "b", "c"};
    char *none[] = {"-q"};
    refuses(3, unknown, "did you mean '--format'");
    refuses(3, word, "one of: svg png");
    refuses(2, value, "--format FORM");
    refuses(2, plain, "takes no value");
    refuses(3, many, "'c'");
    refuses(1, none, "RESULTS [PATH]");
}

Test(parse, asks_for_no_operand_when_help_is_wanted)
{
    struct request request;
    char *said = NULL;
    char *words[] = {"--help"};
    cr_assert(parse(&request, 1, words, &said), "%s", said);
    free(said);
}
