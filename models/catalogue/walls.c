/* Wall materials, short term at about 20 degC. Marks: (read) on a page; (from memory) of the named
 * publication, to be confirmed before quoting. Users' own values always win.
 *
 * Modulus and Poisson's ratio of plastics: usual short term values of texts on surge in plastic
 * pipe (from memory); PVC to ASTM: 400 000 psi, Moser & Folkman, Buried Pipe Design, Example 4.2
 * (read). Roughness of plastics: 0.003 mm, HR Wallingford, Tables for the Hydraulic Design of
 * Pipes, new non-metallic pipe, normal (from memory); general tables give 0.0015 to 0.007 (read).
 * Metals: Moody 1944 as in White, Fluid Mechanics, Table 6.1 (from memory). Derating: one named
 * rule a material; published rules differ widely (PVC-U at 40 degC: 0.58 to 0.71, PE100 0.74 to
 * 0.84), so the stricter one is taken and said wherever its result is.
 *
 * Creep (Kelvin-Voigt elements): one set for PE100 only. For PVC a rig is known (Soares, Covas &
 * Reis, J. Hydraulic Engineering 134(9), 2008) but its figures could not be confirmed, and for ABS
 * and PE80 none were found: those walls are elastic unless the case states their creep. */
#include "models/name.h"
#include "models/wall.h"

#include <stddef.h>

#define FAHRENHEIT(f) (((f)-32.0) / 1.8)

static const struct wall walls[] = {
    {
        .name = "pvc-u",
        .modulus = 3.0e9,
        .poisson = 0.38,
        .roughness = 0.003e-3,
        .derating_count = 5,
        .derating_temperature = {20.0, 30.0, 40.0, 50.0, 60.0},
        .derating_share = {1.0, 7.2 / 9.0, 5.2 / 9.0, 3.5 / 9.0, 2.0 / 9.0},
        .derating_source = "UK trade chart for PVC-U, class C 9.0/7.2/5.2/3.5/2.0 bar at "
                           "20/30/40/50/60 degC (read)",
        .tires = true,
        .source = "usual short-term values for surge, 2.7 to 3.4 GPa, 0.35 to 0.46 (from memory)",
    },
    {
        .name = "pvc",
        .modulus = 2.758e9, /* 400 000 psi */
        .poisson = 0.38,
        .roughness = 0.003e-3,
        .derating_count = 8,
        .derating_temperature = {FAHRENHEIT(73.0), FAHRENHEIT(80.0), FAHRENHEIT(90.0),
                                 FAHRENHEIT(100.0), FAHRENHEIT(110.0), FAHRENHEIT(120.0),
                                 FAHRENHEIT(130.0), FAHRENHEIT(140.0)},
        .derating_share = {1.0, 0.88, 0.75, 0.62, 0.51, 0.40, 0.31, 0.22},
        .derating_source = "US trade table for PVC 1120 schedule pipe, 73 to 140 degF (read)",
        .tires = true,
        .source = "400 000 psi: Moser & Folkman, Buried Pipe Design, Example 4.2 (read); Poisson's "
                  "ratio (from memory)",
    },
    {
        .name = "pe100",
        .modulus = 1.1e9,
        .poisson = 0.46,
        .roughness = 0.003e-3,
        /* Where two published rules differ the stricter one stands, as the sizes are of its
         * standard; above its range the other one's fall from 40 degC on: 0.80/0.84 and 0.76/0.84
         * of 0.74. */
        .derating_count = 7,
        .derating_temperature = {20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0},
        .derating_share = {1.0, 0.93, 0.87, 0.80, 0.74, 0.70, 0.67},
        .derating_source = "ISO 13761 to 40 degC (figures from memory), then falling as in "
                           "Australian practice (read)",
        .creep_count = 5,
        .creep_time = {0.05, 0.5, 1.5, 5.0, 10.0},
        .creep_compliance = {1.057e-10, 1.054e-10, 0.9051e-10, 0.2617e-10, 0.7456e-10},
        .creep_source = "Covas et al., J. Hydraulic Research 42(5) 2004 and 43(1) 2005, one PE100 "
                        "pipe at about 20 degC with 1.43 GPa (from memory)",
        .source = "usual short-term values for surge, 0.9 to 1.4 GPa (from memory)",
    },
    {
        .name = "pe80",
        .modulus = 0.8e9,
        .poisson = 0.46,
        .roughness = 0.003e-3,
        .derating_count = 5,
        .derating_temperature = {20.0, 25.0, 30.0, 35.0, 40.0},
        .derating_share = {1.0, 0.93, 0.87, 0.80, 0.74},
        .derating_source = "ISO 13761, 20 to 40 degC (range read, figures from memory)",
        .source = "usual short-term values for surge, 0.7 to 0.9 GPa (from memory)",
    },
    {
        .name = "abs",
        .modulus = 2.0e9,
        .poisson = 0.35,
        .roughness = 0.003e-3, /* no published value of its own; that of PVC-U is used */
        .derating_count = 6,
        .derating_temperature = {20.0, 30.0, 40.0, 50.0, 60.0, 70.0},
        .derating_share = {1.0, 5.2 / 6.0, 4.5 / 6.0, 3.6 / 6.0, 2.8 / 6.0, 2.0 / 6.0},
        .derating_source = "UK trade chart for ABS, class B 6.0/5.2/4.5/3.6/2.8/2.0 bar at "
                           "20/30/40/50/60/70 degC (read)",
        .source = "usual short-term values, 1.7 to 2.3 GPa (from memory)",
    },
    {
        .name = "steel",
        .modulus = 207e9,
        .poisson = 0.30,
        .roughness = 0.046e-3,
        .derating_count = 2,
        .derating_temperature = {20.0, 100.0},
        .derating_share = {1.0, 1.0},
        .derating_source = "no reduction for metal pipe in water up to 100 degC (usual practice, "
                           "from memory)",
        .source = "200 to 207 GPa, 0.27 to 0.30 (from memory)",
    },
    {
        .name = "copper",
        .modulus = 120e9,
        .poisson = 0.34,
        .roughness = 0.0015e-3,
        .derating_count = 2,
        .derating_temperature = {20.0, 60.0},
        .derating_share = {1.0, 1.0},
        .derating_source = "no reduction for copper tube in water up to 60 degC (usual practice, "
                           "from memory)",
        .source = "110 to 120 GPa, 0.34 to 0.36 (from memory)",
    },
    {
        .name = "ductile iron",
        .modulus = 170e9,
        .poisson = 0.28,
        .roughness = 0.1e-3, /* cement mortar lining, new (from memory) */
        .derating_count = 2,
        .derating_temperature = {20.0, 60.0},
        .derating_share = {1.0, 1.0},
        .derating_source = "no reduction for metal pipe in water up to 60 degC (usual practice, "
                           "from memory)",
        .source = "165 to 172 GPa, 0.28 (from memory)",
    },
};

enum { WALLS = sizeof walls / sizeof walls[0] };

const struct wall *wall_find(const char *name)
{
    for (int i = 0; i < WALLS; i++) {
        if (name_is_same(walls[i].name, name)) {
            return &walls[i];
        }
    }
    return NULL;
}

int wall_count(void)
{
    return WALLS;
}

const struct wall *wall_at(int index)
{
    return &walls[index];
}
