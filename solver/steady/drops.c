#include "solver/steady/drops.h"

#include "models/friction_many.h"

#include <assert.h>
#include <math.h>

void drops_find(int count, const struct link *const link[], const struct water *water,
                const double flow[], double drop[])
{
    /* another law is read as a pipe of a fixed factor that loses nothing */
    static const struct friction none = {.length = 0.0, .bore = 1.0, .factor = 1.0};
    struct friction friction[DROPS_MOST]; /* copied first: all are waited for together */
    struct friction_digest digest[DROPS_MOST];
    double slope[DROPS_MOST];
    bool is_other[DROPS_MOST];
    assert(count <= DROPS_MOST);
    if (count <= 0) {
        return;
    }
    for (int i = 0; i < count; i++) {
        const struct element *element = link[i]->element;
        const bool is_plain = element->friction && !element->coupling;
        friction[i] = is_plain ? *element->friction(link[i]->data) : none;
    }
    int made = 0;
    do { /* compilers then see that all that is read has been written */
        is_other[made] =
            !friction_digest_make(&friction[made], water->viscosity, water->gravity, &digest[made]);
        made++;
    } while (made < count);
    friction_many_drops(count, digest, flow, drop, slope);
    for (int i = 0; i < count; i++) {
        const struct element *element = link[i]->element;
        if (is_other[i]) {
            drop[i] =
                element->coupling ? (double)NAN : element->drop(link[i]->data, water, flow[i]).head;
        }
    }
}
