#include "solver/steady/drops.h"

#include "models/friction_many.h"

#include <assert.h>
#include <math.h>

void drops_find(int count, const struct link *const link[], const struct water *water,
                const double flow[], double drop[])
{
    static const struct friction none = {.length = 0.0, .bore = 1.0};
    struct friction_digest digest[DROPS_MOST] = {{.scale = 0.0}};
    double slope[DROPS_MOST];
    bool is_other[DROPS_MOST];
    assert(count <= DROPS_MOST);
    for (int i = 0; i < count; i++) {
        const struct element *element = link[i]->element;
        const bool is_plain = element->friction && !element->coupling;
        const struct friction *friction = is_plain ? element->friction(link[i]->data) : NULL;
        const bool is_made = friction_digest_make(friction ? friction : &none, water->viscosity,
                                                  water->gravity, &digest[i]);
        is_other[i] = !friction || !is_made;
    }
    friction_many_drops(count, digest, flow, drop, slope);
    for (int i = 0; i < count; i++) {
        const struct element *element = link[i]->element;
        if (is_other[i]) {
            drop[i] =
                element->coupling ? (double)NAN : element->drop(link[i]->data, water, flow[i]).head;
        }
    }
}
