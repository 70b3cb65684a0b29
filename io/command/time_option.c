#include "io/command/time_option.h"

#include "io/door/units.h"

enum exit_code time_option_read(const struct request *request, const char *option, const char *text,
                                double *seconds)
{
    *seconds = 0.0;
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
