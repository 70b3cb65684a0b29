#include "models/elements.h"

#include <criterion/criterion.h>

Test(elements, every_kind_is_found_by_its_own_name)
{
    cr_assert(element_count() >= 4);
    for (int i = 0; i < element_count(); i++) {
        cr_assert(element_find(element_at(i)->kind) == element_at(i));
        cr_assert(element_at(i)->drop != NULL && element_at(i)->span != NULL);
    }
    cr_assert(element_find("lighthouse") == NULL);
}
