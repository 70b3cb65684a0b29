# Measurements, no tests: built by name only; scripts/bench builds and runs them all.
add_executable(bench_kernel EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/bench_kernel.c
  ${CMAKE_SOURCE_DIR}/tests/bench/bare_waves.c)
target_link_libraries(bench_kernel PRIVATE downsurge_solver)

add_executable(bench_surge EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/bench_surge.c
  ${CMAKE_SOURCE_DIR}/tests/bench/bare_waves.c)
target_link_libraries(bench_surge PRIVATE downsurge_io)
target_compile_definitions(bench_surge PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}")

add_executable(bench_steady EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/bench_steady.c)
target_link_libraries(bench_steady PRIVATE downsurge_solver)

add_executable(bench_filling EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/bench_filling.c)
target_link_libraries(bench_filling PRIVATE downsurge_io)
target_compile_definitions(bench_filling PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}")

add_executable(bench_grid EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/grid.c)
target_link_libraries(bench_grid PRIVATE downsurge_io)
