#include "io/results/case_sheet.h"

#include "io/results/sha256.h"
#include "io/version.h"

#include <string.h>

bool case_root_sheet(const struct site *site, const char *options, struct sheet *sheet,
                     struct arena *arena, struct failure *failure)
{
    char digest[SHA256_TEXT_SIZE];
    const char *text = site->text ? site->text : "";
    sha256_text(strlen(text), text, digest);
    const char *copy = arena_text(arena, digest);
    if (!copy) {
        return fail_memory(failure, "the case's fingerprint");
    }
    sheet_init(sheet, "/");
    sheet_attribute_text(sheet, "program", "downsurge");
    sheet_attribute_text(sheet, "version", program_version());
    sheet_attribute_text(sheet, "options", options);
    sheet_attribute_text(sheet, "site", site->name);
    sheet_attribute_text(sheet, "case_file", site->path);
    sheet_attribute_text(sheet, "case_sha256", copy);
    return true;
}

void case_sheet(const struct site *site, struct sheet *sheet, const char *texts[1])
{
    struct field field = {.name = "text",
                          .units = "1",
                          .long_name = "the case file as read",
                          .kind = FIELD_TEXT,
                          .texts = texts};
    const struct water *water = &site->water;
    texts[0] = site->text ? site->text : "";
    sheet_init(sheet, "/case");
    sheet_attribute_number(sheet, "temperature_c", water->temperature_c);
    sheet_attribute_number(sheet, "altitude_m", site->altitude);
    sheet_attribute_number(sheet, "density_kg_m3", water->density);
    sheet_attribute_number(sheet, "viscosity_m2_s", water->viscosity);
    sheet_attribute_number(sheet, "vapour_pressure_pa", water->vapour_pressure);
    sheet_attribute_number(sheet, "air_pressure_pa", water->air_pressure);
    sheet_attribute_number(sheet, "gravity_m_s2", water->gravity);
    sheet_field(sheet, &field);
}
