# Fuzz targets: fuzz_<subject>.c, each with the folders of its corpus. The ordinary test run
# replays the corpus; with clang and -DDOWNSURGE_FUZZ=ON the targets are also built for libFuzzer:
#   build/fuzz_case tests/fuzz/case tests/io/bad cases
# (scripts/fuzz does so for all). The target of whole sites needs no corpus: chance.c feeds it.
option(DOWNSURGE_FUZZ "build the fuzz targets for libFuzzer (clang only)" OFF)

if(DOWNSURGE_FUZZ)
  add_custom_target(fuzz) # all that scripts/fuzz needs
endif()

function(add_fuzz_target subject) # then the folders of its corpus
  set(source ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_${subject}.c)
  set(replay replay_${subject})
  add_executable(${replay} ${source} ${CMAKE_SOURCE_DIR}/tests/fuzz/replay.c)
  target_compile_definitions(${replay} PRIVATE SHORT_RUNS=$<BOOL:${DOWNSURGE_SANITIZE}>)
  target_link_libraries(${replay} PRIVATE downsurge_io downsurge_solver downsurge_models m)
  set(command ${replay} ${ARGN})
  if(DOWNSURGE_SANITIZE)
    list(POP_FRONT command)
    add_test(NAME ${replay} COMMAND ${WATCHED} sanitizers $<TARGET_FILE:${replay}> ${command})
  else()
    add_test(NAME ${replay} COMMAND ${command})
  endif()
  set_tests_properties(${replay} PROPERTIES LABELS fuzz TIMEOUT 300)
  add_lib_fuzzer(${subject})
endfunction()

function(add_lib_fuzzer subject) # then further sources
  if(DOWNSURGE_FUZZ)
    add_executable(fuzz_${subject} ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_${subject}.c ${ARGN})
    target_compile_definitions(fuzz_${subject} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}"
      SHORT_RUNS=1)
    target_compile_options(fuzz_${subject} PRIVATE -fsanitize=fuzzer)
    target_link_options(fuzz_${subject} PRIVATE -fsanitize=fuzzer)
    target_link_libraries(fuzz_${subject} PRIVATE downsurge_io downsurge_solver downsurge_models m)
    add_dependencies(fuzz fuzz_${subject})
  endif()
endfunction()

# A target that makes valid things of any bytes: an ordinary test gives it `count` strings of bytes
# by chance (`few` under the sanitizers).
function(add_chance_target subject count few) # then further sources
  set(chance chance_${subject})
  add_executable(${chance} ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_${subject}.c
    ${CMAKE_SOURCE_DIR}/tests/fuzz/chance.c ${ARGN})
  target_compile_definitions(${chance} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}" SHORT_RUNS=0)
  target_link_libraries(${chance} PRIVATE downsurge_io downsurge_solver downsurge_models m)
  if(DOWNSURGE_SANITIZE)
    add_test(NAME ${chance} COMMAND ${WATCHED} sanitizers $<TARGET_FILE:${chance}> ${few})
  else()
    add_test(NAME ${chance} COMMAND ${chance} ${count})
  endif()
  set_tests_properties(${chance} PROPERTIES LABELS fuzz TIMEOUT 300)
  add_lib_fuzzer(${subject} ${ARGN})
endfunction()

set(corpus ${CMAKE_SOURCE_DIR}/tests/fuzz)
set(case_files ${corpus}/case ${CMAKE_SOURCE_DIR}/tests/io/bad ${CMAKE_SOURCE_DIR}/cases)
add_fuzz_target(case ${case_files})
add_fuzz_target(tree ${case_files})
add_fuzz_target(quantity ${corpus}/quantity)
add_fuzz_target(table ${corpus}/table)

add_chance_target(site 60 8)
add_chance_target(results 12 2 ${corpus}/results_changed.c)
# HDF5 loses the few bytes of an object's head that it found to be damaged.
set_tests_properties(chance_results PROPERTIES ENVIRONMENT KNOWN_LEAK=libhdf5_serial)

# A minute of libFuzzer for each target, in a build of its own (build-fuzz, by clang); each on one core,
# begun early, since what takes long at the end would have a core stand idle.
if(DOWNSURGE_FULL_CHECKS)
  cmake_host_system_information(RESULT cores QUERY NUMBER_OF_LOGICAL_CORES)
  add_test(NAME fuzz_build COMMAND ${CMAKE_SOURCE_DIR}/scripts/build fuzz)
  set_tests_properties(fuzz_build PROPERTIES LABELS fuzz TIMEOUT 900 PROCESSORS ${cores} COST 300
    FIXTURES_SETUP fuzz_programs)
  foreach(subject results site case tree quantity table)
    add_test(NAME fuzz_${subject} COMMAND ${CMAKE_SOURCE_DIR}/scripts/fuzz --smoke ${subject})
    set_tests_properties(fuzz_${subject} PROPERTIES LABELS fuzz TIMEOUT 900 COST 60
      FIXTURES_REQUIRED fuzz_programs)
  endforeach()
endif()
