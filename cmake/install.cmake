# SPDX-License-Identifier: Apache-2.0
# What `cmake --install build/release` puts where; nothing but the program and
# what its readers and its licence need.
include(GNUInstallDirs)

if(TARGET fieldfare)
  install(TARGETS fieldfare RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
endif()
install(FILES LICENSE NOTICE README.md CHANGELOG.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(DIRECTORY docs/ DESTINATION ${CMAKE_INSTALL_DOCDIR}/docs)
