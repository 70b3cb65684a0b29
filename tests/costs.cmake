# What takes long begins early, so that no core stands idle at the end: seconds of processor of the entries
# that take most of it, rounded. A fresh clone has nothing else to go by.
foreach(cost
    surroundings=30 study_ranks=30 command_line=25 report_layout=25 study=20 installed=15 pictures=15
    new_case=15 test_choose_cases=15 report_page=10 test_choose_images=10 test_surge_precision=10
    test_slam_characteristic=10 test_surge_fast=10 test_coupled_property=8 guides=8 help_text=8 layout=8
    broken=8 attacks=8 test_surge_fold=7 test_sizing_cases=7 test_choose=7 test_surge_robust=5
    valgrind_test_steady_exact=20 valgrind_test_surge_waves=15 valgrind_test_arena=10
    valgrind_test_network=8 check_can_fail=10 check_headers=10 check_format=10)
  string(REGEX MATCH "^[a-z_]+" name ${cost})
  string(REGEX MATCH "[0-9]+$" seconds ${cost})
  if(TEST ${name})
    set_tests_properties(${name} PROPERTIES COST ${seconds})
  endif()
endforeach()
