#include "io/command/time_option.h"

#include "io/door/units.h"

#include <string.h>

/* False: there is no room for it, as there is for any time. */
static bool join(const char *number, const char *unit, char text[TIME_OPTION_SIZE])
{
    const int length = snprintf(text, TIME_OPTION_SIZE, "%s%s%s", number, *unit ? " " : "", unit);
    for (size_t end = strlen(text); end > 0 && text[end - 1] == ' '; end--) {
        text[end - 1] = '\0';
    }
    return length >= 0 && length < TIME_OPTION_SIZE;
}

enum exit_code time_option_read(const struct request *request, const char *option,
                                const char *number, const char *unit, char text[TIME_OPTION_SIZE],
                                double *seconds)
{
    *seconds = 0.0;
    if (!join(number, unit, text)) {
        complain(request->terminal, "--%s: a time is expected, such as '20 s'", option);
        return EXIT_CODE_INPUT;
    }
    struct amount amount = {.value = seconds};
    struct failure failure = {0};
    char message[FAILURE_MESSAGE_SIZE] = "";
    struct units *units = units_new(&failure);
    if (!units) {
        complain_failure(request->terminal, &failure);
        return exit_code_of(&failure);
    }
    const bool is_good =
        units_read(units, QUANTITY_TIME, text, 1, &amount, sizeof message, message);
    units_free(units);
    if (is_good && *seconds > 0.0) {
        return EXIT_CODE_DONE;
    }
    complain(request->terminal, "--%s %s: %s", option, text,
             is_good ? "it must be above 0" : message);
    return EXIT_CODE_INPUT;
}
