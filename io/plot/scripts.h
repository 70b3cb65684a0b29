/* Scripts: the gnuplot scripts of scripts/plot/, carried inside the program by the build. */
#ifndef IO_PLOT_SCRIPTS_H
#define IO_PLOT_SCRIPTS_H

#include <stddef.h>

struct plot_script {
    const char *name; /* "profile.gp" */
    size_t size;
    const unsigned char *text; /* [size], no end mark */
};

extern const struct plot_script plot_scripts[];
extern const int plot_script_count;

#endif
