#include "io/results/cavities_sheet.h"

const char *surge_vapour_place(const struct network *network, const struct surge *surge)
{
    if (surge->vapour_link != NETWORK_NONE) {
        return network->links[surge->vapour_link].name;
    }
    return surge->vapour_point != NETWORK_NONE ? network->points[surge->vapour_point].name : "";
}

const char *surge_largest_place(const struct network *network, const struct surge *surge)
{
    if (surge->largest_link != NETWORK_NONE) {
        return network->links[surge->largest_link].name;
    }
    return surge->largest_point != NETWORK_NONE ? network->points[surge->largest_point].name : "";
}

const char *surge_collapse_place(const struct network *network, const struct surge *surge)
{
    const struct surge_collapse *collapse = &surge->collapse;
    if (collapse->link != NETWORK_NONE) {
        return network->links[collapse->link].name;
    }
    return collapse->point != NETWORK_NONE ? network->points[collapse->point].name : "";
}

/* The blow of cavities that shut. */
static void put_collapse(struct sheet *sheet, const struct network *network,
                         const struct surge *surge)
{
    const struct surge_collapse *collapse = &surge->collapse;
    sheet_attribute_number(sheet, "collapse_count", collapse->count);
    if (collapse->count == 0) {
        return;
    }
    sheet_attribute_text(sheet, "collapse_place", surge_collapse_place(network, surge));
    sheet_attribute_number(sheet, "collapse_distance", collapse->distance);
    sheet_attribute_number(sheet, "collapse_shut_time", collapse->shut_time);
    sheet_attribute_number(sheet, "collapse_time", collapse->time);
    sheet_attribute_number(sheet, "collapse_head", collapse->head);
    sheet_attribute_number(sheet, "collapse_pressure", collapse->pressure);
    sheet_attribute_number(sheet, "collapse_pressure_band", collapse->band);
    sheet_attribute_number(sheet, "collapse_window", collapse->window);
}

void cavities_sheet_put(struct sheet *sheet, const struct network *network,
                        const struct surge *surge)
{
    sheet_attribute_number(sheet, "is_boiling", surge->is_boiling);
    if (!surge->is_boiling) {
        return;
    }
    sheet_attribute_number(sheet, "vapour_time", surge->vapour_time);
    sheet_attribute_text(sheet, "vapour_place", surge_vapour_place(network, surge));
    sheet_attribute_number(sheet, "vapour_distance", surge->vapour_distance);
    sheet_attribute_number(sheet, "largest_cavity", surge->largest_cavity);
    sheet_attribute_number(sheet, "largest_cavity_time", surge->largest_time);
    sheet_attribute_text(sheet, "largest_cavity_place", surge_largest_place(network, surge));
    sheet_attribute_number(sheet, "largest_cavity_distance", surge->largest_distance);
    put_collapse(sheet, network, surge);
}
