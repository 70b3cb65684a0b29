/* Tables of pipe sizes, one a series; models/pipe_catalogue.h searches them all. */
#ifndef MODELS_CATALOGUE_PIPE_TABLE_H
#define MODELS_CATALOGUE_PIPE_TABLE_H

struct pipe_size {
    const char *name;      /* canonical: "pvc-u 63 pn10" */
    const char *material;  /* for wall_find */
    double outside;        /* m, outside diameter: nominal for metric sizes, mean for inch sizes */
    double wall;           /* m, the wall its bore is reckoned with: minimum for metric sizes and
                              schedules, mean for inch classes */
    double bore;           /* m, as the table gives or derives it */
    double pressure_class; /* Pa at reference temperature */
    const char *source;    /* standard and mark */
};

struct pipe_table {
    int count;
    const struct pipe_size *sizes; /* [count] */
};

extern const struct pipe_table pipe_pvc_metric;
extern const struct pipe_table pipe_pvc_inch;
extern const struct pipe_table pipe_pvc_schedule;
extern const struct pipe_table pipe_pe;
extern const struct pipe_table pipe_abs;

#endif
