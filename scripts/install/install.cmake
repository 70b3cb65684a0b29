# What `cmake --install` lays down, how it is taken away again, and the Debian package.
#   bin/downsurge                       the program; its plot scripts and catalogue are inside it
#   lib/libdownsurge_*, lib/pkgconfig/  the three libraries: models, solver, io
#   include/downsurge/                  their headers, included as "solver/steady/steady.h"
#   share/man, bash-completion, zsh     made by the program itself, so that they tell what it does
#   share/doc/downsurge/                README.md, cases, the plot scripts for use by hand, the C example
include(GNUInstallDirs)
set(here ${CMAKE_SOURCE_DIR}/scripts/install)
set(made ${CMAKE_BINARY_DIR}/install)
set(doc ${CMAKE_INSTALL_DATADIR}/doc/downsurge)

install(TARGETS downsurge_models downsurge_solver downsurge_io downsurge
  RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR}
  LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR}
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
# What another version of gcc could not read; the plain code stays.
if(is_whole AND CMAKE_OBJCOPY)
  set(libraries_laid "\${CMAKE_INSTALL_PREFIX}")
  cmake_path(APPEND libraries_laid "${CMAKE_INSTALL_LIBDIR}") # alone where that begins at the root
  foreach(floor models solver)
    install(CODE "execute_process(COMMAND \"${CMAKE_OBJCOPY}\" --wildcard --remove-section=.gnu.lto_*
      --remove-section=.gnu.debuglto_* \"\$ENV{DESTDIR}${libraries_laid}/libdownsurge_${floor}.a\"
      COMMAND_ERROR_IS_FATAL ANY)")
  endforeach()
endif()
foreach(floor models solver io)
  install(DIRECTORY ${CMAKE_SOURCE_DIR}/${floor} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/downsurge
    FILES_MATCHING PATTERN "*.h")
endforeach()

# What a program that links the libraries must link too.
set(OPENMP_FLAGS "")
if(OpenMP_C_FOUND)
  set(OPENMP_FLAGS "${OpenMP_C_FLAGS}")
endif()
set(MPI_LIBS "")
if(MPI_C_FOUND)
  list(JOIN MPI_C_LIBRARIES " " MPI_LIBS)
endif()
file(RELATIVE_PATH PREFIX_FROM_PC
  /prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig /prefix)
foreach(floor models solver io)
  configure_file(${here}/downsurge-${floor}.pc.in ${made}/downsurge-${floor}.pc @ONLY)
  install(FILES ${made}/downsurge-${floor}.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)
endforeach()

# The program writes its own page and completions.
add_custom_command(
  OUTPUT ${made}/downsurge.1 ${made}/downsurge.bash ${made}/_downsurge
  COMMAND downsurge --manual > ${made}/downsurge.1
  COMMAND downsurge --completion bash > ${made}/downsurge.bash
  COMMAND downsurge --completion zsh > ${made}/_downsurge
  DEPENDS downsurge VERBATIM)
add_custom_target(manual ALL DEPENDS ${made}/downsurge.1)
install(FILES ${made}/downsurge.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES ${made}/downsurge.bash RENAME downsurge
  DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES ${made}/_downsurge DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/site-functions)

install(FILES ${CMAKE_SOURCE_DIR}/README.md ${CMAKE_SOURCE_DIR}/LICENSE
  ${CMAKE_SOURCE_DIR}/io/results/LAYOUT.md DESTINATION ${doc})
install(DIRECTORY ${CMAKE_SOURCE_DIR}/cases DESTINATION ${doc})
install(DIRECTORY ${CMAKE_SOURCE_DIR}/scripts/plot DESTINATION ${doc} FILES_MATCHING PATTERN "*.gp")
install(FILES ${CMAKE_SOURCE_DIR}/tests/install/three_reservoirs.c DESTINATION ${doc})

# cmake --build build --target uninstall: takes away what the last `cmake --install` of this build
# told that it laid down.
add_custom_target(uninstall
  COMMAND ${CMAKE_COMMAND} -D MANIFEST=${CMAKE_BINARY_DIR}/install_manifest.txt
    -P ${here}/uninstall.cmake VERBATIM)

# cpack -G DEB, in the folder of the build.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME downsurge)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGE_CONTACT "Downsurge's developers")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "non-return valves, flow and surge in pumped plastic pipe")
set(CPACK_PACKAGE_DESCRIPTION "Chooses and places the non-return valves of a pumped site made of plastic pipe, and checks the whole of it: flow, suction, how valves open and shut, surge, pressure class. With the libraries and headers to do so from C.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS "gnuplot-nox | gnuplot, graphviz")
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "libsuitesparse-dev, libsundials-dev, libhdf5-dev, libudunits2-dev, libfyaml-dev, pkg-config")
include(CPack)
