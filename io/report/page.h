/* Page: the whole report as one HTML page that needs nothing from outside. */
#ifndef IO_REPORT_PAGE_H
#define IO_REPORT_PAGE_H

#include "io/report/material.h"

#include <stdio.h>

void report_write(const struct material *material, FILE *out);

#endif
