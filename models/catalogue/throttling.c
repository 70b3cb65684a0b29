/* Throttling curves. Weisbach, Lehrbuch der Ingenieur- und Maschinenmechanik, 1855, gate,
 * cock and disc in circular pipe: his figures (all from memory) are what later handbooks print in
 * few rounded points (Munson, Young & Okiishi, Table 8.2: gate 1/4, 1/2, 3/4 closed 0.26, 2.1, 17;
 * ball 1/3, 2/3 closed 5.5, 210, from memory). Linear and equal percentage are the two inherent
 * characteristics that IEC 60534-2-4 defines (from memory). Full-open K: Munson, Table 8.2 (from
 * memory), butterfly Crane TP-410 N = 45 in 2 in (read). K1: Hooper 1981 (read). */
#include "models/throttling.h"

#include "models/name.h"

#include <limits.h>
#include <stddef.h>

static const struct throttling_kind kinds[] = {
    /* Opening = 1 - covered share of the bore's height. */
    {.curve = {.name = "gate",
               .count = 8,
               .opening = {0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0},
               .loss = {97.8, 17.0, 5.52, 2.06, 0.81, 0.26, 0.15, 0.15},
               .source = "Weisbach 1855, gate in circular pipe (from memory); open 0.15 Munson, "
                         "Young & Okiishi, Table 8.2 (from memory); at 7/8 not below that"},
     .open_loss = 0.15,
     .laminar = 300},
    /* Opening = 1 - angle/90 deg. */
    {.curve = {.name = "ball",
               .count = 13,
               .opening = {25.0 / 90, 30.0 / 90, 35.0 / 90, 40.0 / 90, 45.0 / 90, 50.0 / 90,
                           55.0 / 90, 60.0 / 90, 65.0 / 90, 70.0 / 90, 75.0 / 90, 80.0 / 90, 1.0},
               .loss = {486, 206, 106, 52.6, 31.2, 17.3, 9.68, 5.47, 3.10, 1.56, 0.75, 0.29, 0.05},
               .source = "Weisbach 1855, cock in circular pipe (from memory); open 0.05 Munson, "
                         "Young & Okiishi, Table 8.2 (from memory)"},
     .open_loss = 0.05,
     .laminar = 300},
    /* Opening = 1 - angle/90 deg; a thick disc never reaches the thin one's 0.24 at 5 deg. */
    {.curve = {.name = "butterfly",
               .count = 15,
               .opening = {20.0 / 90, 25.0 / 90, 30.0 / 90, 35.0 / 90, 40.0 / 90, 45.0 / 90,
                           50.0 / 90, 55.0 / 90, 60.0 / 90, 65.0 / 90, 70.0 / 90, 75.0 / 90,
                           80.0 / 90, 85.0 / 90, 1.0},
               .loss = {751, 256, 118, 58.8, 32.6, 18.7, 10.8, 6.22, 3.91, 2.51, 1.54, 0.90, 0.52,
                        0.24, 0.20},
               .source = "Weisbach 1855, disc in circular pipe (from memory); open K is the "
                         "valve's own"},
     .open_loss = 0.855,
     .laminar = 800},
    {.curve = {.name = "globe",
               .count = 1,
               .opening = {1.0},
               .loss = {1.0},
               .is_relative = true,
               .source = "linear characteristic, IEC 60534-2-4 (from memory): capacity in "
                         "proportion to opening"},
     .open_loss = 10.0,
     .laminar = 1500},
    /* Capacity 50^(opening - 1): ln K is linear, K(0.1) = 50^1.8. */
    {.curve = {.name = "equal percentage",
               .count = 2,
               .opening = {0.1, 1.0},
               .loss = {1143.262629818316, 1.0},
               .is_relative = true,
               .source = "equal percentage characteristic, turn-down 50, IEC 60534-2-4 (from "
                         "memory); below a tenth open the capacity falls to nothing"},
     .open_loss = 10.0,
     .laminar = 1500},
};

enum { KINDS = sizeof kinds / sizeof kinds[0] };

int throttling_catalogue_count(void)
{
    return KINDS;
}

const struct throttling_kind *throttling_catalogue_at(int index)
{
    return &kinds[index];
}

const struct throttling_kind *throttling_catalogue_find(const char *name, const char **nearest)
{
    int least = INT_MAX;
    for (int i = 0; i < KINDS; i++) {
        if (name_is_same(kinds[i].curve.name, name)) {
            return &kinds[i];
        }
        const int distance = name_distance(kinds[i].curve.name, name);
        if (distance < least) {
            least = distance;
            if (nearest) {
                *nearest = kinds[i].curve.name;
            }
        }
    }
    return NULL;
}
