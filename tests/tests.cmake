# One Criterion program for each tests/**/test_<subject>.c; names must be unique. Compiled without
# NDEBUG, so that an assert in a test counts. In the sanitize build a program's own exit code is not
# trusted, see scripts/checks/watched.
# Programs are several times slower there: SHORT_RUNS is 1 in it (a macro in C, a variable of the
# environment in Python), and what tries many cases tries fewer.
set(WATCHED ${CMAKE_SOURCE_DIR}/scripts/checks/watched)
include(${CMAKE_SOURCE_DIR}/tests/criterion/no_git.cmake)

function(add_test_program source)
  get_filename_component(name ${source} NAME_WE)
  if(TARGET ${name})
    message(FATAL_ERROR "two test files are called ${name}.c: rename ${source}")
  endif()
  add_executable(${name} ${source})
  # Criterion's macros are slow to optimise, and nothing in a test is worth it.
  target_compile_options(${name} PRIVATE $<IF:$<BOOL:${DOWNSURGE_SANITIZE}>,-O0,-Og>)
  # Criterion 2.4.1's macros convert and drop const; relaxed for tests only.
  target_compile_options(${name} PRIVATE -UNDEBUG -Wno-conversion -Wno-sign-conversion
    -Wno-cast-qual -Wno-missing-prototypes)
  if(CMAKE_C_COMPILER_ID STREQUAL "GNU")
    target_compile_options(${name} PRIVATE -Wno-discarded-qualifiers)
  else()
    target_compile_options(${name} PRIVATE
      -Wno-incompatible-pointer-types-discards-qualifiers)
  endif()
  target_link_libraries(${name} PRIVATE downsurge_io downsurge_solver downsurge_models
    ${QUICK_CRITERION} m)
  target_compile_definitions(${name} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}"
    BUILD_DIR="${CMAKE_BINARY_DIR}" SHORT_RUNS=$<BOOL:${DOWNSURGE_SANITIZE}>)
  # A test that wants memory to end defines __wrap_malloc() and the like, itself or by including
  # ending_memory.h; each is wrapped for it.
  set(wrappers ${source})
  file(STRINGS ${source} found REGEX "^#include \"tests/solver/ending_memory.h\"" LIMIT_COUNT 1)
  if(found)
    list(APPEND wrappers ${CMAKE_SOURCE_DIR}/tests/solver/ending_memory.h)
  endif()
  foreach(allocator malloc calloc realloc aligned_alloc posix_memalign free arena_take)
    foreach(wrapper ${wrappers})
      file(STRINGS ${wrapper} found REGEX "^[a-z].*__wrap_${allocator}\\(" LIMIT_COUNT 1)
      if(found)
        target_link_options(${name} PRIVATE -Wl,--wrap=${allocator})
      endif()
    endforeach()
  endforeach()
  # The like for every zero that the models seek.
  file(STRINGS ${source} found REGEX "^#include \"tests/models/watched_root.h\"" LIMIT_COUNT 1)
  if(found)
    target_link_options(${name} PRIVATE -Wl,--wrap=root_find)
  endif()
  if(DOWNSURGE_SANITIZE)
    add_test(NAME ${name} COMMAND ${WATCHED} sanitizers $<TARGET_FILE:${name}>)
  else()
    add_test(NAME ${name} COMMAND ${name})
  endif()
  set_tests_properties(${name} PROPERTIES LABELS unit TIMEOUT 300)
endfunction()

file(GLOB_RECURSE test_sources CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/test_*.c)
foreach(source ${test_sources})
  add_test_program(${source})
endforeach()

target_sources(test_steady_made PRIVATE ${CMAKE_SOURCE_DIR}/tests/bench/made_network.c)

# Programs with checks against something outside, exact, published or computed apart, of what a person
# relies on: `ctest -L published`. DEVELOPERS.md tells which check proves what.
foreach(name
    case_files four_quadrant maker_curve measured_trace non_return non_return_catalogue
    non_return_motion pump_run_down slam_characteristic steady_exact steady_layouts steady_published
    surge_cavity surge_creep surge_friction surge_kernel surge_precision surge_protection surge_pump
    surge_slam surge_unsteady surge_valve surge_waves wave_speed air_valve air_vessel standpipe)
  set_tests_properties(test_${name} PROPERTIES LABELS "unit;published")
endforeach()

# Random networks and sites with their seeds; a long run is scripts/property.
set_tests_properties(test_steady_property PROPERTIES LABELS property)

include(${CMAKE_SOURCE_DIR}/tests/io/io.cmake)

# What is installed, used from outside. Not under the sanitizers, whose flags its own programs lack.
if(SYSTEM_PYTHON AND TARGET downsurge AND NOT DOWNSURGE_SANITIZE)
  add_test(NAME installed COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/install/installed.py
    ${CMAKE_BINARY_DIR} ${CMAKE_SOURCE_DIR} ${CMAKE_C_COMPILER})
  set_tests_properties(installed PROPERTIES LABELS command TIMEOUT 300)
endif()
