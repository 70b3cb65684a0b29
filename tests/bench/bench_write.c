/* What writing results costs: series over time, put into a results file by the store, beside bare
 * chunked datasets of the same numbers by HDF5 alone. Both end on the disk. */
#include "io/results/store.h"
#include "tests/bench/measure.h"

#include <hdf5.h>
#include <stdlib.h>

enum { SERIES = 8, ROWS = 1000000 };

struct series {
    char folder[64];
    double *time;           /* [ROWS] */
    double *numbers;        /* [SERIES][ROWS] */
    double *places[SERIES]; /* into it */
};

/* Of the wall: the disk is part of it. */
static double wall(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static const char *const names[SERIES] = {"head 1", "head 2", "head 3", "head 4",
                                          "flow 1", "flow 2", "flow 3", "flow 4"};

enum { WRITE_SECONDS, WRITE_WALL };

static bool do_store(void *what, double value[])
{
    const struct series *series = what;
    struct failure failure = {0};
    char path[96];
    struct sheet *sheet = malloc(sizeof *sheet);
    (void)snprintf(path, sizeof path, "%s/store.h5", series->folder);
    if (!sheet) {
        return false;
    }
    const double begun = measure_seconds();
    const double wall_begun = wall();
    sheet_init(sheet, "/surge");
    const int time = sheet_dimension(sheet, "time", ROWS);
    sheet_numbers(sheet, (struct field_head){"time", "s", "time"}, time, series->time);
    for (int i = 0; i < SERIES; i++) {
        sheet_numbers(sheet, (struct field_head){names[i], "m", "a series"}, time,
                      series->places[i]);
    }
    struct store *store = store_new(path, &failure);
    const bool is_good =
        store && store_sheet(store, sheet, &failure) && store_finish(store, &failure);
    store_free(store);
    value[WRITE_SECONDS] = measure_seconds() - begun;
    value[WRITE_WALL] = wall() - wall_begun;
    free(sheet);
    return is_good;
}

static bool put_bare(hid_t file, const char *name, const double *numbers)
{
    const hsize_t size = ROWS;
    const hsize_t chunk = 65536;
    const hid_t space = H5Screate_simple(1, &size, NULL);
    const hid_t creation = H5Pcreate(H5P_DATASET_CREATE);
    (void)H5Pset_chunk(creation, 1, &chunk);
    const hid_t dataset =
        H5Dcreate2(file, name, H5T_NATIVE_DOUBLE, space, H5P_DEFAULT, creation, H5P_DEFAULT);
    const bool is_good =
        H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, numbers) >= 0;
    (void)H5Dclose(dataset);
    (void)H5Pclose(creation);
    (void)H5Sclose(space);
    return is_good;
}

static bool do_bare(void *what, double value[])
{
    const struct series *series = what;
    char path[96];
    (void)snprintf(path, sizeof path, "%s/bare.h5", series->folder);
    const double begun = measure_seconds();
    const double wall_begun = wall();
    const hid_t file = H5Fcreate(path, H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT);
    bool is_good = file >= 0 && put_bare(file, "time", series->time);
    for (int i = 0; i < SERIES; i++) {
        is_good = is_good && put_bare(file, names[i], series->places[i]);
    }
    is_good = H5Fclose(file) >= 0 && is_good;
    FILE *again = fopen(path, "rb"); /* brought to the disk, as the store does */
    is_good = again && fsync(fileno(again)) == 0 && is_good;
    value[WRITE_SECONDS] = measure_seconds() - begun;
    value[WRITE_WALL] = wall() - wall_begun;
    return is_good && fclose(again) == 0;
}

int main(int count, char *argument[])
{
    struct series series;
    double store[MEASURE_VALUES];
    double bare[MEASURE_VALUES];
    double memory = 0.0;
    double bare_memory = 0.0;
    (void)snprintf(series.folder, sizeof series.folder, "%s", count > 1 ? argument[1] : ".");
    series.time = malloc(ROWS * sizeof *series.time);
    series.numbers = malloc(SERIES * (size_t)ROWS * sizeof *series.numbers);
    if (!series.time || !series.numbers) {
        free(series.time);
        free(series.numbers);
        return 1;
    }
    for (int i = 0; i < ROWS; i++) {
        series.time[i] = 1e-3 * i;
    }
    for (int i = 0; i < SERIES; i++) {
        series.places[i] = series.numbers + (size_t)i * ROWS;
        for (int k = 0; k < ROWS; k++) {
            series.places[i][k] = sin(1e-3 * k + i);
        }
    }
    if (!measure_best(5, do_bare, &series, bare, &bare_memory) ||
        !measure_best(5, do_store, &series, store, &memory)) {
        free(series.time);
        free(series.numbers);
        return 1;
    }
    const double values = (double)ROWS * (SERIES + 1);
    const double each = 1e6 * store[WRITE_SECONDS] / values;
    printf("%d series of %d rows: %.3f s of the processor, %.3f s of the wall, %.0f MiB; bare %.3f "
           "s, %.3f s, %.0f MiB\n",
           SERIES, ROWS, store[WRITE_SECONDS], store[WRITE_WALL], memory, bare[WRITE_SECONDS],
           bare[WRITE_WALL], bare_memory);
    measure_row("HDF5, a row of a series", each, "us", "(microseconds)", each, WISH_AT_MOST, 0.1);
    measure_row("  speed", values / store[WRITE_SECONDS] / 1e6, "million/s", "a bare chunked write",
                bare[WRITE_SECONDS] / store[WRITE_SECONDS], WISH_AT_LEAST, 0.8);
    free(series.time);
    free(series.numbers);
    return 0;
}
