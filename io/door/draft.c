#include "io/door/draft.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { LONGEST_NAME = 60, TEXT_SIZE = 400, FIRST_ROOM = 32 };

void *draft_take(struct draft *draft, size_t count, size_t size)
{
    void *room = arena_take(draft->reader.arena, count, size);
    if (!room) {
        (void)faults_add_memory(draft->reader.faults, "the network");
    }
    return room;
}

/* The list with room for at least one more, or NULL (told). */
static void *grow(struct draft *draft, void *list, int count, int *room, size_t size)
{
    if (count < *room) {
        return list;
    }
    const int larger = *room ? 2 * *room : FIRST_ROOM;
    void *moved = draft_take(draft, (size_t)larger, size);
    if (!moved) {
        return NULL;
    }
    if (count > 0) {
        memcpy(moved, list, (size_t)count * size);
    }
    *room = larger;
    return moved;
}

/* The list with room for `more`, or NULL (told). */
static void *reserve(struct draft *draft, void *list, int count, int more, int *room, size_t size)
{
    if (count + more <= *room) {
        return list;
    }
    *room = count + more;
    void *moved = draft_take(draft, (size_t)*room, size);
    if (moved && count > 0) {
        memcpy(moved, list, (size_t)count * size);
    }
    return moved;
}

static const char *tell_point(const void *owner, int index)
{
    const struct network *network = owner;
    return network->points[index].name;
}

static const char *tell_link(const void *owner, int index)
{
    const struct network *network = owner;
    return network->links[index].name;
}

void draft_name_points(struct draft *draft)
{
    names_init(&draft->points, draft->reader.arena, draft->network, tell_point);
}

void draft_name_links(struct draft *draft)
{
    names_init(&draft->links, draft->reader.arena, draft->network, tell_link);
}

bool draft_reserve(struct draft *draft, int points, int links)
{
    struct network *network = draft->network;
    network->points = reserve(draft, network->points, network->point_count, points,
                              &draft->point_room, sizeof *network->points);
    network->links = reserve(draft, network->links, network->link_count, links, &draft->link_room,
                             sizeof *network->links);
    if ((points > 0 && !network->points) || (links > 0 && !network->links) ||
        !names_reserve(&draft->points, points) || !names_reserve(&draft->links, links)) {
        (void)faults_add_memory(draft->reader.faults, "a table's network");
        network->point_count = network->points ? network->point_count : 0;
        network->link_count = network->links ? network->link_count : 0;
        return false;
    }
    return true;
}

int draft_add_point(struct draft *draft, const struct point *point)
{
    return draft_add_point_by(draft, point, names_key(point->name));
}

int draft_add_point_by(struct draft *draft, const struct point *point, struct name_key key)
{
    struct network *network = draft->network;
    struct point *points = grow(draft, network->points, network->point_count, &draft->point_room,
                                sizeof *network->points);
    if (!points) {
        return NETWORK_NONE;
    }
    network->points = points;
    const int taken = names_claim_by(&draft->points, point->name, key, network->point_count);
    if (taken >= 0) {
        draft->has_lost_names = true;
        draft->has_twins = true;
        const bool is_tank = network->points[taken].tank != NETWORK_NONE;
        if (faults_is_wrong(draft->reader.faults, point->place)) {
            return NETWORK_NONE; /* twice in one section: told as such */
        }
        (void)draft_error(draft, point->place,
                          "the name '%s' is taken by the %s in line %d; give this one another",
                          point->name, is_tank ? "tank" : "point",
                          network->points[taken].place.line);
        return NETWORK_NONE;
    }
    if (taken == NAMES_NO_MEMORY) {
        (void)faults_add_memory(draft->reader.faults, "names");
        return NETWORK_NONE;
    }
    network->points[network->point_count] = *point;
    return network->point_count++;
}

int draft_add_link(struct draft *draft, const struct link *link)
{
    return draft_add_link_by(draft, link, names_key(link->name));
}

int draft_add_link_by(struct draft *draft, const struct link *link, struct name_key key)
{
    struct network *network = draft->network;
    struct link *links =
        grow(draft, network->links, network->link_count, &draft->link_room, sizeof *network->links);
    if (!links) {
        return NETWORK_NONE;
    }
    network->links = links;
    const int taken = names_claim_by(&draft->links, link->name, key, network->link_count);
    if (taken >= 0) {
        draft->has_lost_names = true;
        draft->has_twins = true;
        (void)draft_error(draft, link->place,
                          "the name '%s' is taken by the part in line %d; give this one a 'name'",
                          link->name, network->links[taken].place.line);
        return NETWORK_NONE;
    }
    if (taken == NAMES_NO_MEMORY) {
        (void)faults_add_memory(draft->reader.faults, "names");
        return NETWORK_NONE;
    }
    network->links[network->link_count] = *link;
    return network->link_count++;
}

bool draft_add_valve_place(struct draft *draft, const struct valve_place *place)
{
    struct valve_place *valves = grow(draft, draft->valves, draft->site->valve_count,
                                      &draft->valve_room, sizeof *draft->valves);
    if (!valves) {
        return false;
    }
    draft->valves = valves;
    draft->valves[draft->site->valve_count++] = *place;
    draft->site->valves = draft->valves;
    return true;
}

bool draft_add_pump_place(struct draft *draft, const struct pump_place *place)
{
    struct pump_place *places = grow(draft, draft->pump_places, draft->site->pump_place_count,
                                     &draft->pump_place_room, sizeof *draft->pump_places);
    if (!places) {
        return false;
    }
    draft->pump_places = places;
    draft->pump_places[draft->site->pump_place_count++] = *place;
    draft->site->pump_places = draft->pump_places;
    return true;
}

const char *draft_text(struct draft *draft, const char *format, ...)
{
    char text[TEXT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    const char *kept = arena_text(draft->reader.arena, text);
    if (!kept) {
        (void)faults_add_memory(draft->reader.faults, "a name");
        return "";
    }
    return kept;
}

/* Without '/', tab, line end, and blanks at its ends. */
static bool is_plain_name(const char *name)
{
    const char *c = name;
    while (*c && *c != '/' && *c != '\n' && *c != '\t') {
        c++;
    }
    return !*c && name[0] != ' ' && (c == name || c[-1] != ' ');
}

void draft_offer_name(struct nearest *nearest, const char *name)
{
    if (is_plain_name(name)) {
        nearest_offer(nearest, name);
    }
}

bool draft_check_name(struct draft *draft, const char *kind, const char *name, struct place place)
{
    const size_t length = strlen(name);
    if (length == 0 || length > LONGEST_NAME) {
        draft->has_lost_names = true;
        return draft_error(
            draft, place,
            "%s: a name has 1 to %d letters, those beyond a to z counted as the 2 to "
            "4 bytes that each takes",
            kind, LONGEST_NAME);
    }
    if (!is_plain_name(name)) {
        draft->has_lost_names = true;
        return draft_error(draft, place,
                           "%s '%s': a name has no '/', tab or line end, and no blank at its ends",
                           kind, name);
    }
    return true;
}

bool draft_error(struct draft *draft, struct place place, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)faults_add_list(draft->reader.faults, FAULT_ERROR, place, format, arguments);
    va_end(arguments);
    return false;
}

void draft_doubt(struct draft *draft, struct place place, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)faults_add_list(draft->reader.faults, FAULT_DOUBT, place, format, arguments);
    va_end(arguments);
}

void draft_assume(struct draft *draft, struct place place, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)faults_add_list(draft->reader.faults, FAULT_ASSUMED, place, format, arguments);
    va_end(arguments);
}
