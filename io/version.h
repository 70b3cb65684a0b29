/* Version of the program, as the build file states it. */
#ifndef IO_VERSION_H
#define IO_VERSION_H

/* "0.1.0" */
const char *program_version(void);

#endif
