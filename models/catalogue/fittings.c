/* Fittings and open valves: K = N f_T (Crane Co., Flow of Fluids, TP-410, 2009, K factor table) or
 * a fixed K. Marks: (read) in a text that cites the source; (from memory) to be confirmed before
 * quoting. Handbooks differ by half on small fittings. K1 of K1/Re: Hooper, Chem. Eng., 24 Aug
 * 1981, 96-100 (read); only it counts at very small flows, where it makes the slope finite. */
#include "models/fitting.h"
#include "models/name.h"

#include <limits.h>
#include <math.h>
#include <stddef.h>

#define CRANE(n, k1, mark)                                                                         \
    .per_turbulent_factor = (n), .laminar = (k1),                                                  \
    .source = "Crane TP-410 (2009), K = " #n " f_T (" mark "); K1 " #k1 " Hooper 1981 (read)"
#define CRANE_ONLY(n, mark)                                                                        \
    .per_turbulent_factor = (n), .laminar = 500,                                                   \
    .source = "Crane TP-410 (2009), K = " #n " f_T (" mark "); K1 500 as Hooper's tees and elbows"
#define FIXED(k, text) .fixed_loss = (k), .laminar = 0, .source = text

static const struct fitting_kind fittings[] = {
    /* Change of direction. */
    {.name = "elbow 90 deg", CRANE(30, 800, "from memory")},
    {.name = "elbow 45 deg", CRANE(16, 500, "from memory")},
    {.name = "bend 90 deg", CRANE(14, 800, "r/d 1.5, read")},
    {.name = "bend 45 deg",
     FIXED(0.2, "Munson, Young & Okiishi, Table 8.2, 45 deg long radius, "
                "flanged (from memory)")},
    {.name = "long bend 90 deg", CRANE_ONLY(12, "r/d 3, read")},
    {.name = "return bend", CRANE(50, 1000, "from memory")},
    {.name = "mitre 90 deg", CRANE(60, 1000, "read")},
    {.name = "mitre 60 deg", CRANE_ONLY(25, "read")},
    {.name = "mitre 45 deg", CRANE_ONLY(15, "read")},
    {.name = "mitre 30 deg", CRANE_ONLY(8, "read")},
    /* Junctions and joints. */
    {.name = "tee through", CRANE(20, 150, "from memory")},
    {.name = "tee branch", CRANE(60, 800, "from memory")},
    {.name = "union",
     FIXED(0.08, "Munson, Young & Okiishi, Table 8.2, union, threaded (from "
                 "memory)")},
    /* Ends in open water; K of the bore. */
    {.name = "entry",
     FIXED(0.5, "Crane TP-410 (2009), flush, sharp (read); other handbooks 0.5 to "
                "0.57")},
    {.name = "entry rounded", FIXED(0.04, "Crane TP-410 (2009), r/d 0.15 and more (read)")},
    {.name = "entry projecting",
     FIXED(0.78, "Crane TP-410 (2009), inward projecting (from "
                 "memory)")},
    {.name = "exit", FIXED(1.0, "Crane TP-410 (2009) (from memory); exact for uniform flow")},
    /* Valves fully open, full bore. */
    {.name = "gate valve", CRANE(8, 300, "read")},
    {.name = "ball valve", CRANE(3, 300, "read")},
    {.name = "globe valve", CRANE(340, 1500, "read")},
    {.name = "angle valve", CRANE_ONLY(150, "from memory")},
    {.name = "diaphragm valve", CRANE(149, 1000, "weir, read")},
    {.name = "butterfly valve", CRANE(45, 800, "centric, 2 to 8 in, read")},
};

enum { FITTINGS = sizeof fittings / sizeof fittings[0] };

int fitting_catalogue_count(void)
{
    return FITTINGS;
}

const struct fitting_kind *fitting_catalogue_at(int index)
{
    return &fittings[index];
}

const struct fitting_kind *fitting_catalogue_find(const char *name, const char **nearest)
{
    int least = INT_MAX;
    for (int i = 0; i < FITTINGS; i++) {
        if (name_is_same(fittings[i].name, name)) {
            return &fittings[i];
        }
    }
    /* Nearness is costly, and asked for only where nothing is found. */
    for (int i = 0; i < FITTINGS; i++) {
        const int distance = name_distance(fittings[i].name, name);
        if (distance < least) {
            least = distance;
            if (nearest) {
                *nearest = fittings[i].name;
            }
        }
    }
    return NULL;
}

double fitting_kind_loss(const struct fitting_kind *kind, double bore)
{
    static const double roughness = 0.04572e-3; /* m, 0.0018 in: clean commercial steel */
    if (!(kind->per_turbulent_factor > 0.0)) {
        return kind->fixed_loss;
    }
    const double logarithm = log10(roughness / (3.7 * bore));
    return kind->per_turbulent_factor * 0.25 / (logarithm * logarithm);
}
