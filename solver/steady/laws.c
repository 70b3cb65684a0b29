#include "solver/steady/laws.h"

#include "solver/steady/start.h"
#include "solver/steady/zones.h"

#include <math.h>

/* False: the link's law is not friction by a roughness alone. */
static bool take_digest(const struct link *link, const struct water *water,
                        struct friction_digest *digest)
{
    static const struct friction none = {.length = 0.0, .bore = 1.0};
    const struct friction *friction =
        link->element->friction ? link->element->friction(link->data) : NULL;
    const bool is_made =
        friction_digest_make(friction ? friction : &none, water->viscosity, water->gravity, digest);
    return friction && is_made;
}

void laws_read(struct state *state, const struct network *network, const struct water *water)
{
    /* In the network's order: its links and their data mostly lie in it, and to wait for reading
     * costs more than to write here and there. */
    for (int i = 0; i < state->link_count; i++) {
        const struct link *link = &network->links[i];
        const int e = state->place[i];
        state->law[e] = (struct law){link->element, link->data, start_usual_flow(link)};
        state->span[e] = link->element->span(link->data, water);
        state->has_digest[e] = take_digest(link, water, &state->digest[e]);
    }
    state->limited_count = 0;
    state->other_count = 0;
    for (int e = 0; e < state->link_count; e++) {
        if (!state->has_digest[e]) {
            state->other[state->other_count++] = e;
        }
        if (isfinite(state->span[e].lower) || isfinite(state->span[e].upper)) {
            state->limited[state->limited_count++] = e;
        }
    }
    zones_part(state);
}
