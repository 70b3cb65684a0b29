/* Style: how a report looks, on screens light and dark, wide and narrow, and on A4 paper. */
#ifndef IO_REPORT_STYLE_H
#define IO_REPORT_STYLE_H

#include <stdio.h>

void style_write(FILE *out);

#endif
