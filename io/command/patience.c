#include "io/command/patience.h"

#include "io/door/units.h"

/* Of one picture, s: a hundred times what the largest pictures of the ready cases take. */
static const double PATIENCE_USUAL = 300.0;

bool patience_read(const struct request *request, double *seconds)
{
    const char *text = request_value(request, "patience", NULL);
    struct amount amount = {.value = seconds};
    struct failure failure = {0};
    char message[FAILURE_MESSAGE_SIZE] = "";
    *seconds = PATIENCE_USUAL;
    if (!text) {
        return true;
    }
    struct units *units = units_new(&failure);
    if (!units) {
        complain_failure(request->terminal, &failure);
        return false;
    }
    const bool is_good =
        units_read(units, QUANTITY_TIME, text, 1, &amount, sizeof message, message);
    units_free(units);
    if (is_good && *seconds > 0.0) {
        return true;
    }
    complain(request->terminal, "--patience %s: %s", text,
             is_good ? "it must be above 0" : message);
    return false;
}
