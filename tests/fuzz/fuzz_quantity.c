/* Whatever stands where a quantity should: finite numbers or a message, never a crash. The first
 * byte chooses the quantity. */
#include "io/door/units.h"
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <string.h>

enum { ROOM = 8, LONGEST = 300 };

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    struct failure failure;
    double value[ROOM];
    struct amount amount = {.value = value};
    char message[FAILURE_MESSAGE_SIZE] = "";
    char text[LONGEST + 1] = "";
    static struct units *units; /* kept from run to run: its tables take long to read */
    if (!units) {
        units = units_new(&failure);
    }
    if (!units || size == 0) {
        return 0;
    }
    const enum quantity quantity = (enum quantity)(data[0] % QUANTITY_COUNT);
    memcpy(text, data + 1, size - 1 < LONGEST ? size - 1 : LONGEST);
    if (units_read(units, quantity, text, ROOM, &amount, sizeof message, message)) {
        for (int i = 0; i < amount.count; i++) {
            if (!isfinite(value[i])) {
                abort();
            }
        }
    } else if (message[0] == '\0') {
        abort(); /* refused without a word */
    }
    return 0;
}
