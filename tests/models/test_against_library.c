/* Laws against the tables in tests/reference, written by scripts/reference/losses.py:
 * Colebrook-White solved with 40 digits, and a general-purpose library of fluid formulas
 * (python3-fluids). */
#include "models/bore_change.h"
#include "models/fitting.h"
#include "models/friction.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

enum { LINE = 400 };

static FILE *table(const char *name)
{
    char path[LINE];
    snprintf(path, sizeof path, "%s/tests/reference/%s", SOURCE_DIR, name);
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "%s", path);
    return file;
}

Test(against_library, colebrook_agrees_to_round_off)
{
    FILE *file = table("colebrook.csv");
    char line[LINE];
    int rows = 0;
    while (fgets(line, sizeof line, file)) {
        double reynolds = 0, roughness = 0, factor = 0;
        if (sscanf(line, "%lf,%lf,%lf", &reynolds, &roughness, &factor) == 3) {
            cr_assert_float_eq(friction_factor(reynolds, roughness, NULL) / factor, 1, 1e-14,
                               "Re %g e/D %g", reynolds, roughness);
            rows++;
        }
    }
    fclose(file);
    cr_assert_eq(rows, 400);
}

Test(against_library, changes_of_bore_agree_to_round_off)
{
    static const double angles[] = {20, 40, 90};
    const double degree = 3.14159265358979323846 / 180;
    FILE *file = table("bore_changes.csv");
    char line[LINE];
    int rows = 0;
    while (fgets(line, sizeof line, file)) {
        double v[9];
        if (sscanf(line, "%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", &v[0], &v[1], &v[2], &v[3], &v[4],
                   &v[5], &v[6], &v[7], &v[8]) != 9) {
            continue;
        }
        cr_assert_float_eq(bore_change_contraction(v[0]), v[1], 1e-14);
        cr_assert_float_eq(bore_change_enlargement(v[0]), v[2], 1e-14);
        for (int i = 0; i < 3; i++) {
            const double angle = angles[i] * degree;
            cr_assert_float_eq(bore_change_tapered_contraction(v[0], angle), v[3 + 2 * i], 1e-14);
            cr_assert_float_eq(bore_change_tapered_enlargement(v[0], angle), v[4 + 2 * i], 1e-14);
        }
        rows++;
    }
    fclose(file);
    cr_assert_eq(rows, 18);
}

/* The library takes f_T at a finite Reynolds number: 2 %. */
Test(against_library, kinds_of_fitting_agree_within_two_per_cent)
{
    FILE *file = table("fittings.csv");
    char line[LINE];
    int rows = 0;
    while (fgets(line, sizeof line, file)) {
        char name[LINE];
        double bore = 0, loss = 0;
        if (sscanf(line, "%399[^,#],%lf,%lf", name, &bore, &loss) == 3) {
            const struct fitting_kind *kind = fitting_catalogue_find(name, NULL);
            cr_assert_not_null(kind, "%s", name);
            cr_assert_float_eq(fitting_kind_loss(kind, bore) / loss, 1, 0.02, "%s %g", name, bore);
            rows++;
        }
    }
    fclose(file);
    cr_assert_eq(rows, 45);
}
