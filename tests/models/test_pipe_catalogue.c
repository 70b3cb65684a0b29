#include "models/pipe_catalogue.h"
#include "models/wall.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct pipe_size *size(const char *name)
{
    const struct pipe_size *found = pipe_catalogue_find(name, NULL);
    cr_assert_not_null(found, "%s", name);
    return found;
}

Test(pipe_catalogue, every_row_is_found_by_its_own_name)
{
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *row = pipe_catalogue_at(i);
        cr_assert_eq(row, pipe_catalogue_find(row->name, NULL), "%s", row->name);
        cr_assert_not_null(wall_find(row->material), "%s", row->name);
    }
}

/* Bore = outside - 2 walls; tables print to 0.1 mm (inch schedules are soft-converted). */
Test(pipe_catalogue, outside_wall_and_bore_agree)
{
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *row = pipe_catalogue_at(i);
        const double bore = row->outside - 2 * row->wall;
        cr_assert_float_eq(row->bore, bore, 0.0601e-3, "%s: %g", row->name, 1e3 * bore);
    }
}

/* ISO 1452-2: 20 s/(SDR - 1) bar, s 10 MPa to 90 mm, 12.5 MPa above (read). Walls are rounded up to
 * 0.1 mm and are at least 1.5 mm, so a row may carry more than its name, never much less. */
Test(pipe_catalogue, metric_pvc_class_follows_from_its_wall)
{
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *row = pipe_catalogue_at(i);
        if (strcmp(row->material, "pvc-u") == 0 && strstr(row->name, " pn")) {
            const double stress = row->outside < 0.1 ? 10e6 : 12.5e6;
            const double class = 2 * stress * row->wall / (row->outside - row->wall);
            const double share = class / row->pressure_class;
            cr_assert(share > 0.975 && share < 1.3, "%s: %g", row->name, share);
        }
    }
}

/* ISO 4427: 20 (MRS/1.25)/(SDR - 1) bar; PE80 SDR 11 gives 12.8, called 12.5. The wall is never
 * thinner than outside/SDR but for rounding to 0.1 mm. */
Test(pipe_catalogue, polyethylene_class_follows_from_sdr)
{
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *row = pipe_catalogue_at(i);
        int sdr = 0;
        const char *text = strstr(row->name, "sdr");
        if (text && sscanf(text, "sdr%d", &sdr) == 1) {
            const double strength = strcmp(row->material, "pe100") == 0 ? 10e6 : 8e6;
            const double class = 2 * strength / 1.25 / (sdr - 1);
            cr_assert_float_eq(class, row->pressure_class, 0.024 * class, "%s", row->name);
            cr_assert_geq(row->wall * sdr, row->outside - sdr * 0.1e-3, "%s", row->name);
        }
    }
}

/* ASTM D1785: 2 x 2000 psi x e/(D - e), rounded to 10 psi; soft-converted walls: within 6 psi. */
Test(pipe_catalogue, schedule_rating_follows_from_its_wall)
{
    int count = 0;
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *row = pipe_catalogue_at(i);
        if (strstr(row->name, "schedule")) {
            const double psi = 4000 * row->wall / (row->outside - row->wall);
            cr_assert_float_eq(row->pressure_class / 6894.757, psi, 6, "%s", row->name);
            count++;
        }
    }
    cr_assert_eq(count, 28);
}

/* Bores, mm, of the published tables (read or computed from read walls). */
Test(pipe_catalogue, bores_are_those_of_the_tables)
{
    static const struct {
        const char *name;
        double bore, bar;
    } table[] = {{"pvc-u 63 pn10", 57.0, 10},          {"pvc-u 110 pn16", 96.8, 16},
                 {"pvc-u 16 pn16", 13.0, 16},          {"pvc-u 2in class c", 54.9, 9},
                 {"pvc-u 2in class e", 52.0, 15},      {"pvc schedule 40 2in", 52.5, 19.3},
                 {"pvc schedule 80 2in", 49.25, 27.6}, {"pe100 63 sdr11", 51.4, 16},
                 {"pe80 63 sdr11", 51.4, 12.5},        {"pe100 110 sdr17", 96.8, 10},
                 {"abs 1-1/2in class d", 40.5, 12},    {"pvc-u 315 pn6", 299.6, 6}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        cr_assert_float_eq(size(table[i].name)->bore, table[i].bore * 1e-3, 1e-9);
        cr_assert_float_eq(size(table[i].name)->pressure_class / 1e5, table[i].bar, 0.05);
    }
}

Test(pipe_catalogue, trade_spellings_mean_the_same_size)
{
    static const char *const table[][2] = {
        {"PVC-U 63 PN10", "pvc-u 63 pn10"},
        {"pvc-u 63mm pn 10", "pvc-u 63 pn10"},
        {"uPVC 63 mm PN10", "pvc-u 63 pn10"},
        {"63 pn10 pvc-u", "pvc-u 63 pn10"},
        {"pvcu 63, PN-10", "pvc-u 63 pn10"},
        {"PVC-U 2 inch Class C", "pvc-u 2in class c"},
        {"pvc-u 1 1/4\" class E", "pvc-u 1-1/4in class e"},
        {"pvc 1-1/2in sch 80", "pvc schedule 80 1-1/2in"},
        {"PVC schedule 40 1/2 in", "pvc schedule 40 1/2in"},
        {"PE 100 63 SDR 11", "pe100 63 sdr11"},
        {"pe100 63 mm sdr-11", "pe100 63 sdr11"},
    };
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        cr_assert_str_eq(size(table[i][0])->name, table[i][1], "%s", table[i][0]);
    }
}

Test(pipe_catalogue, different_pipes_are_not_mixed_up)
{
    cr_assert_null(pipe_catalogue_find("pvc-u 63", NULL));
    cr_assert_null(pipe_catalogue_find("pvc 63 pn10", NULL));
    cr_assert_null(pipe_catalogue_find("pvc-u 2 pn10", NULL));
    cr_assert_null(pipe_catalogue_find("pvc-u 11/4in class e", NULL));
    cr_assert_null(pipe_catalogue_find("pe100 pe100 63 sdr11", NULL));
    cr_assert_null(pipe_catalogue_find("", NULL));
    cr_assert_null(pipe_catalogue_find("a b c d e f g h i j k l m n", NULL));
}

Test(pipe_catalogue, the_nearest_name_is_offered)
{
    const char *nearest = NULL;
    cr_assert_null(pipe_catalogue_find("pvc-u 64 pn10", &nearest));
    cr_assert_str_eq(nearest, "pvc-u 63 pn10");
    cr_assert_null(pipe_catalogue_find("pe1000 63 sdr11", &nearest));
    cr_assert_str_eq(nearest, "pe100 63 sdr11");
    cr_assert_null(pipe_catalogue_find("pe100 165 sdr17", &nearest));
    cr_assert_str_eq(nearest, "pe100 160 sdr17");
    cr_assert_null(pipe_catalogue_find("???", &nearest));
    cr_assert_not_null(nearest);
}

/* ISO 4427: PE100 of SDR 17 is PN 10, of SDR 11 PN 16; PE80 of SDR 11 is PN 12.5. */
Test(pipe_catalogue, what_is_offered_is_of_the_material_and_class_that_were_named)
{
    static const char *const table[][2] = {
        {"HDPE 63 PN10", "pe100 63 sdr17"},  {"pe100 63 pn16", "pe100 63 sdr11"},
        {"PE 110 PN 10", "pe100 110 sdr17"}, {"pe80 63 pn12.5", "pe80 63 sdr11"},
        {"MDPE 63 pn8", "pe80 63 sdr17"},    {"pe100 63 sdr13.6", "pe100 63 sdr11"},
        {"pvc 63 pn10", "pvc-u 63 pn10"},    {"abs 2in class k", "abs 2in class c"},
        {"pvc-u 64 pn16", "pvc-u 63 pn16"},
    };
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const char *nearest = NULL;
        cr_assert_null(pipe_catalogue_find(table[i][0], &nearest));
        cr_assert_str_eq(nearest, table[i][1], "%s: %s", table[i][0], nearest);
    }
}

Test(pipe_catalogue, nothing_is_offered_of_a_material_without_sizes_here)
{
    static const char *const names[] = {"pvc-c 63 pn16", "CPVC 2in", "pp 63 pn10", "PP-R 63 pn10",
                                        "steel 50"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *nearest = "unset";
        cr_assert_null(pipe_catalogue_find(names[i], &nearest));
        cr_assert_null(nearest, "%s: %s", names[i], nearest);
    }
}
