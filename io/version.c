#include "io/version.h"

const char *program_version(void)
{
    return DOWNSURGE_VERSION; /* the build file defines it */
}
