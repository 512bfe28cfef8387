# SPDX-License-Identifier: Apache-2.0
# What is more than the test of one module, as tests of ctest: the checks of the
# code itself, a moment of fuzzing, and the tests that need release speed. One
# run of `ctest --preset dev` so speaks for everything; ./test builds what the
# last two need. An exit code of 77 means skipped, and the output says why.

function(fieldfare_check name)
  add_test(NAME ${name} COMMAND ${ARGN} WORKING_DIRECTORY ${CMAKE_SOURCE_DIR})
  set_tests_properties(${name} PROPERTIES LABELS house SKIP_RETURN_CODE 77 TIMEOUT 1200)
endfunction()

set(tools ${CMAKE_SOURCE_DIR}/tools)
fieldfare_check(house.layers ${tools}/check-layers)
fieldfare_check(house.layers-are-enforced ${tools}/check-layers --self-test)
fieldfare_check(house.headers-stand-alone ${tools}/check-headers)
fieldfare_check(house.format ${tools}/check-format)
fieldfare_check(house.docs ${tools}/check-docs)
fieldfare_check(house.docs-are-enforced ${tools}/check-docs --self-test)
fieldfare_check(house.tidy ${tools}/tidy --build ${CMAKE_BINARY_DIR} --changed)
set_tests_properties(house.headers-stand-alone house.tidy PROPERTIES PROCESSORS 2)
if(TARGET fieldfare)
  fieldfare_check(house.docs-commands-work ${tools}/check-docs --program $<TARGET_FILE:fieldfare>)
endif()
if(EXISTS ${CMAKE_SOURCE_DIR}/examples/tarn-dairy/make_log.py)
  fieldfare_check(house.demo-log-is-what-its-script-makes
    python3 ${CMAKE_SOURCE_DIR}/examples/tarn-dairy/make_log.py --check)
endif()

file(GLOB fuzz_targets CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/fuzz/*_fuzz.cc)
foreach(source IN LISTS fuzz_targets)
  get_filename_component(name ${source} NAME_WE)
  string(REGEX REPLACE "_fuzz$" "" name ${name})
  fieldfare_check(fuzz.${name} ${tools}/fuzz smoke ${name})
  set_tests_properties(fuzz.${name} PROPERTIES LABELS fuzz)
endforeach()

if(EXISTS ${CMAKE_SOURCE_DIR}/tests/truth/CMakeLists.txt)
  fieldfare_check(truth ${CMAKE_SOURCE_DIR}/build/check/fieldfare_truth_test)
  set_tests_properties(truth PROPERTIES LABELS truth)
endif()
