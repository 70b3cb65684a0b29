# The command line and results files, looked at from outside. Python's h5py is the judge of the
# files: Debian's python3-h5py, so /usr/bin/python3.
find_program(SYSTEM_PYTHON python3 PATHS /usr/bin NO_DEFAULT_PATH)
if(SYSTEM_PYTHON AND TARGET downsurge)
  add_executable(sample_results ${CMAKE_SOURCE_DIR}/tests/io/sample_results.c)
  target_compile_options(sample_results PRIVATE -Wno-conversion -Wno-sign-conversion)
  target_link_libraries(sample_results PRIVATE downsurge_io)
  foreach(name command_line results_file)
    add_test(NAME ${name} COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/${name}.py
      $<TARGET_FILE:downsurge> $<TARGET_FILE:sample_results>)
    set_tests_properties(${name} PROPERTIES LABELS command TIMEOUT 300)
  endforeach()
  add_test(NAME study COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/study.py
    $<TARGET_FILE:downsurge>)
  set_tests_properties(study PROPERTIES LABELS command TIMEOUT 300)
  if(MPI_C_FOUND AND MPIEXEC_EXECUTABLE AND NOT DOWNSURGE_SANITIZE)
    add_test(NAME study_ranks COMMAND ${SYSTEM_PYTHON} -B
      ${CMAKE_SOURCE_DIR}/tests/io/study_ranks.py $<TARGET_FILE:downsurge> ${MPIEXEC_EXECUTABLE})
    set_tests_properties(study_ranks PROPERTIES LABELS command TIMEOUT 600)
  endif()

  # Hundreds of runs of the program, and texts: not what the sanitizers are for.
  set(texts new_case help_text layout)
  if(DOWNSURGE_SANITIZE)
    set(texts "")
  endif()
  foreach(name ${texts})
    add_test(NAME ${name} COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/${name}.py
      $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
    set_tests_properties(${name} PROPERTIES LABELS command TIMEOUT 300)
  endforeach()

  set(short SHORT_RUNS=$<BOOL:${DOWNSURGE_SANITIZE}>)
  set_tests_properties(command_line results_file study PROPERTIES ENVIRONMENT ${short})
endif()

# What gnuplot, a browser and the lessons say of text and pictures says nothing of memory.
if(SYSTEM_PYTHON AND TARGET downsurge AND NOT DOWNSURGE_SANITIZE)
  add_test(NAME pictures COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/pictures.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(pictures PROPERTIES LABELS command TIMEOUT 300 SKIP_RETURN_CODE 77)

  add_test(NAME guides COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/guides.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(guides PROPERTIES LABELS command TIMEOUT 300)

  # Three sites as a first user walks them, every number reckoned by hand.
  add_test(NAME walked_sites COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/walked_sites.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(walked_sites PROPERTIES LABELS command TIMEOUT 300)
endif()

# The report by Python's parser of HTML; its layout by a browser, skipped where there is none.
if(SYSTEM_PYTHON AND TARGET downsurge)
  set(pages report_page)
  if(NOT DOWNSURGE_SANITIZE)
    list(APPEND pages report_layout)
  endif()
  foreach(name ${pages})
    add_test(NAME ${name} COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/${name}.py
      $<TARGET_FILE:downsurge> $<TARGET_FILE:sample_results> ${CMAKE_SOURCE_DIR})
    set_tests_properties(${name} PROPERTIES LABELS command TIMEOUT 300 SKIP_RETURN_CODE 77)
  endforeach()
endif()

# The world around the program, what people who want harm might try, and hundreds of broken cases. Under the sanitizers test_bad_cases and test_broken_sites
# read the same cases.
if(SYSTEM_PYTHON AND TARGET downsurge AND NOT DOWNSURGE_SANITIZE)
  add_test(NAME surroundings COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/surroundings.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(surroundings PROPERTIES LABELS command TIMEOUT 300)
  add_test(NAME attacks COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/attacks.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(attacks PROPERTIES LABELS command TIMEOUT 300)
  add_test(NAME broken COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/io/broken.py
    $<TARGET_FILE:downsurge> ${CMAKE_SOURCE_DIR})
  set_tests_properties(broken PROPERTIES LABELS command TIMEOUT 300)
endif()

# The whole program with memory that ends. Not in the sanitize build: its allocator comes first.
if(SYSTEM_PYTHON AND NOT DOWNSURGE_SANITIZE)
  add_executable(starved ${CMAKE_SOURCE_DIR}/tests/faults/starved.c)
  target_link_libraries(starved PRIVATE downsurge_io)
  foreach(allocator malloc calloc realloc aligned_alloc posix_memalign)
    target_link_options(starved PRIVATE -Wl,--wrap=${allocator})
  endforeach()
  add_test(NAME starved COMMAND ${SYSTEM_PYTHON} -B ${CMAKE_SOURCE_DIR}/tests/faults/starved.py
    $<TARGET_FILE:starved> ${CMAKE_SOURCE_DIR}/cases)
  set_tests_properties(starved PROPERTIES LABELS faults TIMEOUT 600)
endif()
