# SPDX-License-Identifier: Apache-2.0
# One target a module: fieldfare_module(stats DEPENDS base LIBRARIES Boost::headers)
# makes the library fieldfare_stats from src/fieldfare/stats/*.cc, and, for
# developers, fieldfare_stats_test from *_test.cc beside them.

find_package(Threads REQUIRED)
if(FIELDFARE_DEVELOPER)
  find_package(GTest REQUIRED)
endif()

add_library(fieldfare_flags INTERFACE)
target_include_directories(fieldfare_flags INTERFACE ${CMAKE_SOURCE_DIR}/src)
target_compile_options(fieldfare_flags INTERFACE
  -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wnon-virtual-dtor
  # For those who change the code only: another compiler's new warning must not
  # keep a user from building.
  $<$<BOOL:${FIELDFARE_DEVELOPER}>:-Werror>
  # The compiler may not choose between two roundings: the same hearings give
  # the same digits whatever the optimisation.
  -ffp-contract=off)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # g++ 12 raises false alarms of these kinds in code it has inlined from the
  # standard library; the sanitizers watch for the real thing.
  target_compile_options(fieldfare_flags INTERFACE
    -Wno-restrict -Wno-stringop-overflow -Wno-stringop-overread -Wno-maybe-uninitialized)
endif()
if(FIELDFARE_SANITIZE)
  target_compile_options(fieldfare_flags INTERFACE
    -fsanitize=${FIELDFARE_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(fieldfare_flags INTERFACE -fsanitize=${FIELDFARE_SANITIZE})
endif()
if(FIELDFARE_FUZZ)
  target_compile_options(fieldfare_flags INTERFACE -fsanitize=fuzzer-no-link)
endif()

function(fieldfare_module name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "DEPENDS;LIBRARIES;TEST_LIBRARIES")
  file(GLOB_RECURSE sources CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/*.cc)
  set(tests ${sources})
  list(FILTER sources EXCLUDE REGEX "(_test|/main)\\.cc$")
  list(FILTER tests INCLUDE REGEX "_test\\.cc$")
  list(TRANSFORM arg_DEPENDS PREPEND fieldfare_)

  set(kind PUBLIC)
  if(sources)
    add_library(fieldfare_${name} STATIC ${sources})
  else()
    add_library(fieldfare_${name} INTERFACE)
    set(kind INTERFACE)
  endif()
  target_link_libraries(fieldfare_${name} ${kind} fieldfare_flags ${arg_DEPENDS} ${arg_LIBRARIES})

  if(FIELDFARE_DEVELOPER AND tests)
    add_executable(fieldfare_${name}_test ${tests})
    target_link_libraries(fieldfare_${name}_test PRIVATE
      fieldfare_${name} ${arg_TEST_LIBRARIES} GTest::gtest_main)
    # Half of the time that tests take to compile goes into optimising them and
    # into watching the macros of their own text; what they test is watched still.
    if(FIELDFARE_SANITIZE)
      target_compile_options(fieldfare_${name}_test PRIVATE -O0 -fno-sanitize=undefined)
    endif()
    target_compile_definitions(fieldfare_${name}_test PRIVATE
      FIELDFARE_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
    add_test(NAME ${name} COMMAND fieldfare_${name}_test)
  endif()
endfunction()

# fieldfare_fuzz(csv DEPENDS wire) makes the libFuzzer target fuzz_csv from
# csv_fuzz.cc; seeds lie in corpus/csv/ beside it. tools/fuzz finds and runs them.
add_custom_target(fuzz_targets)
function(fieldfare_fuzz name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "DEPENDS;LIBRARIES")
  list(TRANSFORM arg_DEPENDS PREPEND fieldfare_)
  add_executable(fuzz_${name} ${name}_fuzz.cc)
  target_link_libraries(fuzz_${name} PRIVATE fieldfare_flags ${arg_DEPENDS} ${arg_LIBRARIES})
  target_link_options(fuzz_${name} PRIVATE -fsanitize=fuzzer)
  add_dependencies(fuzz_targets fuzz_${name})
endfunction()
