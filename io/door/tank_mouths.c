#include "io/door/tank_mouths.h"

#include <math.h>
#include <string.h>

/* A mouth below the floor lies outside the tank; water never reaches one above the brim. Only what
 * the case itself says counts: before the floor and the brim are assumed. */
static void check_mouth(struct draft *draft, const struct tree *node, const struct tank *tank,
                        const char *key, double mouth)
{
    const struct tree *child = tree_find(node, key);
    if (!child) {
        return;
    }
    if (isfinite(tank->floor) && mouth < tank->floor) {
        (void)draft_error(
            draft, child->place,
            "tank '%s': %s: %.4g m is below its floor %.4g m; state a mouth inside it", tank->name,
            key, mouth, tank->floor);
        return;
    }
    const bool pours_in = strcmp(key, "inlet elevation") == 0;
    if (pours_in && isfinite(tank->brim) && mouth > tank->brim && !tank->inlet_above) {
        draft_doubt(draft, child->place,
                    "tank '%s': %s: %.4g m is above its brim %.4g m; say 'inlet: above water' if "
                    "it pours in from there",
                    tank->name, key, mouth, tank->brim);
    }
    if (!pours_in && isfinite(tank->brim) && mouth > tank->brim) {
        (void)draft_error(draft, child->place,
                          "tank '%s': %s: %.4g m is above its brim %.4g m, where no water gets to; "
                          "state the open end of the pipe, in the water",
                          tank->name, key, mouth, tank->brim);
    } else if (!pours_in && mouth > tank->level) {
        draft_doubt(draft, child->place,
                    "tank '%s': %s: %.4g m is above its level %.4g m; the pipe draws air there",
                    tank->name, key, mouth, tank->level);
    }
}

void check_mouths(struct draft *draft, const struct tree *node, const struct tank *tank,
                  double inlet, double outlet)
{
    check_mouth(draft, node, tank, "inlet elevation", inlet);
    check_mouth(draft, node, tank, "outlet elevation", outlet);
}

/* The steady flow sees the tank's water there, not the mouth: it lifts too little, and lets water
 * run back. */
void check_end_under_water(struct draft *draft, const char *run, struct place place,
                           const struct tank *tank, double mouth)
{
    if (mouth > tank->level) {
        draft_doubt(draft, place,
                    "%s: it ends in tank '%s' at %.4g m, above the water at %.4g m, but is "
                    "reckoned as if under it: too much flows, and water runs back; say 'inlet: "
                    "above water' of the tank if it pours in",
                    run, tank->name, mouth, tank->level);
    }
}
