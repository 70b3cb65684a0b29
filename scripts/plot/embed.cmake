# Puts the gnuplot scripts of this folder into the program as constant data, so that it finds them
# wherever it is installed.
file(GLOB plot_scripts CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/scripts/plot/*.gp)
set(plot_source "/* Made of the scripts in scripts/plot by the build. */\n#include \"io/plot/scripts.h\"\n")
set(plot_list "")
set(plot_number 0)
foreach(script ${plot_scripts})
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${script})
  get_filename_component(name ${script} NAME)
  file(READ ${script} bytes HEX)
  string(REGEX REPLACE "(..)" "0x\\1, " bytes "${bytes}")
  string(APPEND plot_source "\nstatic const unsigned char script_${plot_number}[] = {${bytes}};\n")
  string(APPEND plot_list "    {\"${name}\", sizeof script_${plot_number}, script_${plot_number}},\n")
  math(EXPR plot_number "${plot_number} + 1")
endforeach()
string(APPEND plot_source "\nconst struct plot_script plot_scripts[] = {\n${plot_list}};\n"
  "\nconst int plot_script_count = ${plot_number};\n")
file(GENERATE OUTPUT ${CMAKE_BINARY_DIR}/generated/plot_scripts.c CONTENT "${plot_source}")
target_sources(downsurge_io PRIVATE ${CMAKE_BINARY_DIR}/generated/plot_scripts.c)
