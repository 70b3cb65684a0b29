#include "models/name.h"

#include <criterion/criterion.h>

Test(name, case_spaces_and_hyphens_do_not_matter)
{
    cr_assert(name_is_same("PVC-U", "pvc u"));
    cr_assert(name_is_same("tee branch", "Tee_Branch "));
    cr_assert(name_is_same("", " -"));
    cr_assert_not(name_is_same("pvc", "pvc-u"));
    cr_assert_not(name_is_same("pe80", "pe100"));
}

/* Levenshtein 1966; kitten - sitting is the textbooks' example: 3. */
Test(name, distance_counts_single_edits)
{
    cr_assert_eq(name_distance("kitten", "sitting"), 3);
    cr_assert_eq(name_distance("sitting", "kitten"), 3);
    cr_assert_eq(name_distance("", "union"), 5);
    cr_assert_eq(name_distance("union", ""), 5);
    cr_assert_eq(name_distance("Tee Branch", "tee-branch"), 0);
}

Test(name, long_names_are_cut_not_overrun)
{
    char one[400];
    for (int i = 0; i < 399; i++) {
        one[i] = 'a';
    }
    one[399] = '\0';
    cr_assert_eq(name_distance(one, "a"), 59);
    cr_assert_eq(name_distance("a", one), 59);
    cr_assert_eq(name_distance(one, one), 0);
}
