#include "io/door/explain.h"

#include <math.h>

void explain_doubts(const struct site *site, struct faults *faults)
{
    (void)site;
    (void)faults;
}
