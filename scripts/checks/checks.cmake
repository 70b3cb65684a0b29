# The checks of the tree's structure, each a ctest entry (label structure). Quick ones are always
# registered; with DOWNSURGE_FULL_CHECKS (scripts/test) also those that take longer, and the test
# programs under the watchers of memory (label memory).

set(CHECKS ${CMAKE_SOURCE_DIR}/scripts/checks)
find_program(PYTHON python3)
if(NOT PYTHON)
  missing("python3 (checks; or configure with -DDOWNSURGE_TESTS=OFF)" python3)
endif()

function(add_check name)
  add_test(NAME check_${name}
    COMMAND ${PYTHON} -B ${CHECKS}/${name}.py ${CMAKE_SOURCE_DIR} ${CMAKE_BINARY_DIR})
  set_tests_properties(check_${name} PROPERTIES LABELS structure TIMEOUT 600)
endfunction()

# The sanitize build has one purpose: its test programs (see tests/tests.cmake) and the proof that
# a fault in a child process is noticed.
function(add_seeded_faults watcher)
  add_executable(seeded_faults tests/faults/seeded_faults.c)
  target_compile_options(seeded_faults PRIVATE -w -g)
  target_link_libraries(seeded_faults PRIVATE ${QUICK_CRITERION})
  add_test(NAME ${watcher}_content_with_no_fault
    COMMAND ${WATCHED} ${watcher} $<TARGET_FILE:seeded_faults> --filter seeded/none)
  set_tests_properties(${watcher}_content_with_no_fault PROPERTIES LABELS memory)
  foreach(pair ${ARGN})
    string(REGEX MATCH "^[a-z]+" fault ${pair})
    string(REGEX REPLACE "^[a-z]+=" "" says ${pair})
    add_test(NAME ${watcher}_refuse_${fault} COMMAND ${CHECKS}/refused ${says}
      ${WATCHED} ${watcher} $<TARGET_FILE:seeded_faults> --filter seeded/${fault})
    set_tests_properties(${watcher}_refuse_${fault} PROPERTIES LABELS memory)
  endforeach()
endfunction()

if(DOWNSURGE_SANITIZE)
  add_seeded_faults(sanitizers "overrun=insufficient space|heap-buffer-overflow"
    "leak=detected memory leaks" "overflow=signed integer overflow")
  return()
endif()

foreach(name direction rings printing headers sizes format top words questions)
  add_check(${name})
endforeach()
if(CMAKE_BUILD_TYPE STREQUAL "Release")
  add_check(globals) # an unoptimised build keeps objects that are none
endif()

if(DOWNSURGE_FULL_CHECKS)
  foreach(name tidy map can_fail)
    add_check(${name})
  endforeach()
  set_tests_properties(check_tidy PROPERTIES TIMEOUT 900 PROCESSORS 2 COST 200)

  add_test(NAME sanitized_tests COMMAND ${CMAKE_SOURCE_DIR}/scripts/sanitize)
  set_tests_properties(sanitized_tests PROPERTIES LABELS memory TIMEOUT 900 PROCESSORS 2 COST 400)

  # What only valgrind sees, the use of values never set, in a choice of test programs: it needs a
  # second for each test (by hand: scripts/checks/watched valgrind build-test/test_NAME).
  add_seeded_faults(valgrind "unset=depends on uninitialised" "leak=definitely lost"
    "overrun=Invalid read")
  foreach(name test_arena test_memory_ends test_network test_steady_exact test_surge_waves)
    if(TARGET ${name})
      add_test(NAME valgrind_${name} COMMAND ${WATCHED} valgrind $<TARGET_FILE:${name}>)
      set_tests_properties(valgrind_${name} PROPERTIES LABELS memory TIMEOUT 300)
    endif()
  endforeach()
endif()
