# Sets QUICK_CRITERION to what test programs link: Criterion, and where it asks libgit2 for no more than
# no_git.c has, that in place of libgit2 (the file tells why).
set(QUICK_CRITERION ${CRITERION_LIBRARY})

function(read_criterion result)
  execute_process(COMMAND ${ARGN} ${CRITERION_LIBRARY} OUTPUT_VARIABLE text ERROR_QUIET)
  set(${result} "${text}" PARENT_SCOPE)
endfunction()

if(CMAKE_OBJDUMP AND CMAKE_NM)
  read_criterion(needs ${CMAKE_OBJDUMP} -p)
  read_criterion(unknown ${CMAKE_NM} -D -u)
  string(REGEX MATCH "NEEDED +libgit2(\\.so[.0-9]*)" needed "${needs}")
  set(suffix "${CMAKE_MATCH_1}")
  string(REGEX MATCHALL " git_[a-z0-9_]+" asked "${unknown}")
  list(SORT asked)
  if(needed AND asked STREQUAL " git_diff_buffers; git_libgit2_init; git_libgit2_shutdown")
    add_library(no_git SHARED ${CMAKE_SOURCE_DIR}/tests/criterion/no_git.c)
    set_target_properties(no_git PROPERTIES PREFIX "" OUTPUT_NAME libgit2 SUFFIX "${suffix}" NO_SONAME ON
      LIBRARY_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR}/criterion)
    target_link_options(no_git PRIVATE -Wl,-soname,libgit2${suffix})
    # No program asks for it, and it has to be there before Criterion's own is looked for.
    set(QUICK_CRITERION -Wl,--push-state,--no-as-needed no_git -Wl,--pop-state ${CRITERION_LIBRARY})
  endif()
endif()
