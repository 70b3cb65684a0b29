# Fuzz targets: fuzz_<subject>.c, one subject each. With DOWNSURGE_FUZZ (the sanitize build) libFuzzer
# drives them, in ctest for a minute each from a fixed seed (scripts/fuzz --smoke). In other builds the
# ordinary test run replays their corpus, folders of files, or feeds them a few strings of bytes by chance.

function(add_fuzz_program program subject) # then further sources
  add_executable(${program} ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_${subject}.c ${ARGN})
  target_compile_definitions(${program} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}"
    SHORT_RUNS=$<BOOL:${DOWNSURGE_FUZZ}>)
  target_link_libraries(${program} PRIVATE downsurge_io downsurge_solver downsurge_models m)
endfunction()

if(DOWNSURGE_FUZZ)
  add_custom_target(fuzz) # all that scripts/fuzz needs
endif()

function(add_lib_fuzzer subject) # then further sources
  add_fuzz_program(fuzz_${subject} ${subject} ${ARGN})
  target_compile_options(fuzz_${subject} PRIVATE -fsanitize=fuzzer)
  target_link_options(fuzz_${subject} PRIVATE -fsanitize=fuzzer)
  add_dependencies(fuzz fuzz_${subject})
  add_test(NAME fuzz_${subject} COMMAND ${CMAKE_SOURCE_DIR}/scripts/fuzz --smoke ${subject})
  # Begun first: what takes long at the end would have a processor stand idle.
  set_tests_properties(fuzz_${subject} PROPERTIES LABELS fuzz TIMEOUT 900 COST 100)
endfunction()

function(add_fuzz_target subject) # then the folders of its corpus
  if(DOWNSURGE_FUZZ)
    add_lib_fuzzer(${subject})
    return()
  endif()
  set(replay replay_${subject})
  add_fuzz_program(${replay} ${subject} ${CMAKE_SOURCE_DIR}/tests/fuzz/replay.c)
  add_test(NAME ${replay} COMMAND ${replay} ${ARGN})
  set_tests_properties(${replay} PROPERTIES LABELS fuzz TIMEOUT 300)
endfunction()

# A target that makes valid things of any bytes: an ordinary test gives it `count` strings of bytes
# by chance.
function(add_chance_target subject count) # then further sources
  if(DOWNSURGE_FUZZ)
    add_lib_fuzzer(${subject} ${ARGN})
    return()
  endif()
  set(chance chance_${subject})
  add_fuzz_program(${chance} ${subject} ${CMAKE_SOURCE_DIR}/tests/fuzz/chance.c ${ARGN})
  add_test(NAME ${chance} COMMAND ${chance} ${count})
  set_tests_properties(${chance} PROPERTIES LABELS fuzz TIMEOUT 300)
endfunction()

set(corpus ${CMAKE_SOURCE_DIR}/tests/fuzz)
set(case_files ${corpus}/case ${CMAKE_SOURCE_DIR}/tests/io/bad ${CMAKE_SOURCE_DIR}/cases)
add_fuzz_target(case ${case_files})
add_fuzz_target(tree ${case_files})
add_fuzz_target(quantity ${corpus}/quantity)
add_fuzz_target(table ${corpus}/table)

add_chance_target(site 60)
add_chance_target(results 12 ${corpus}/results_changed.c)
