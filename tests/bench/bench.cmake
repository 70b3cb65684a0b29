# Measurements, no tests: built by name only; scripts/bench builds and runs them all (`benches`).
function(add_bench name library)
  list(TRANSFORM ARGN PREPEND ${CMAKE_SOURCE_DIR}/tests/bench/ OUTPUT_VARIABLE sources)
  add_executable(${name} EXCLUDE_FROM_ALL ${CMAKE_SOURCE_DIR}/tests/bench/${name}.c ${sources})
  target_link_libraries(${name} PRIVATE ${library})
  set_target_properties(${name} PROPERTIES IS_WHOLE ON) # as the program
  target_include_directories(${name} PRIVATE ${CMAKE_SOURCE_DIR})
  target_compile_definitions(${name} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}")
  add_dependencies(benches ${name})
endfunction()

add_custom_target(benches)
add_bench(bench_kernel downsurge_solver bare_waves.c bare_losses.c)
add_bench(bench_surge downsurge_io bare_waves.c bare_memories.c)
add_bench(bench_filling downsurge_io)
add_bench(bench_study downsurge_io)
add_bench(bench_read downsurge_io ../../io/door/tree.c ../../io/door/door.c) # with other limits
target_compile_definitions(bench_read PRIVATE TREE_TIMES=16)
add_bench(bench_write downsurge_io)
add_bench(bench_start m)
add_bench(bench_steady downsurge_solver made_network.c bare_cholmod.c peer_kinsol.c)
target_link_libraries(bench_steady PRIVATE sundials_kinsol sundials_sunlinsolklu
  sundials_sunmatrixsparse klu) # of the packages that hold CVODE and CHOLMOD
