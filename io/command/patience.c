#include "io/command/patience.h"

#include "io/command/time_option.h"

/* Of one picture, s: a hundred times what the largest pictures of the ready cases take. */
static const double PATIENCE_USUAL = 300.0;

bool patience_read(const struct request *request, double *seconds)
{
    const char *text = request_value(request, "patience", NULL);
    char told[TIME_OPTION_SIZE];
    *seconds = PATIENCE_USUAL;
    return !text ||
           time_option_read(request, "patience", text, "", told, seconds) == EXIT_CODE_DONE;
}
