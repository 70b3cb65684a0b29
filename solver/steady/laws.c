#include "solver/steady/laws.h"

#include "solver/steady/start.h"
#include "solver/steady/zones.h"

#include <math.h>

static bool has_end(struct span span)
{
    return isfinite(span.lower) || isfinite(span.upper);
}

/* False: the link's law is not friction by a roughness alone. */
static bool take_digest(const struct link *link, const struct water *water, struct span span,
                        struct friction_digest *digest)
{
    static const struct friction none = {.length = 0.0, .bore = 1.0};
    const struct friction *friction =
        link->element->friction && !has_end(span) ? link->element->friction(link->data) : NULL;
    const bool is_made =
        friction_digest_make(friction ? friction : &none, water->viscosity, water->gravity, digest);
    return friction && is_made;
}

void laws_read(struct state *state, const struct network *network, const struct water *water)
{
    /* In the network's order: its links and their data mostly lie in it, and to wait for reading
     * costs more than to write here and there. */
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const int e = state->place[i];
        if (e == NETWORK_NONE) {
            continue;
        }
        state->usual_flow[e] = start_usual_flow(link);
        state->span[e] = link->element->span(link->data, water);
        const bool is_plain = take_digest(link, water, state->span[e], &state->digest[e]);
        state->is_open[e] = is_plain; /* until there are factors */
    }
    state->limited_count = 0;
    state->other_count = 0;
    for (int e = 0; e < state->link_count; e++) {
        if (!state->is_open[e]) {
            const struct link *link = &network->links[state->link[e]];
            state->law[state->other_count] = (struct law){link->element, link->data};
            state->other[state->other_count++] = e;
        }
        if (has_end(state->span[e])) {
            state->limited[state->limited_count++] = e;
        }
    }
    zones_part(state);
}
