# Puts files into the program: writes a C++ source that defines, for each LIST
# given, a function of fieldfare::site that returns its files by name and text.
#
#   cmake -DOUTPUT=x.cc -DROOT=repository -P embed.cmake -- sheets:FILE,FILE ...
#
# A list is NAME:FOLDER:FILE,FILE with files relative to ROOT/FOLDER.
set(source "// Written by cmake/embed.cmake; not to be edited.
#include \"fieldfare/site/internal/embedded.h\"

namespace fieldfare::site {
")
math(EXPR last "${CMAKE_ARGC} - 1")
set(past_dashes FALSE)
foreach(i RANGE ${last})
  set(list "${CMAKE_ARGV${i}}")
  if(list STREQUAL "--")
    set(past_dashes TRUE)
  elseif(past_dashes)
    string(REGEX MATCH "^([^:]*):([^:]*):(.*)$" matched "${list}")
    set(name ${CMAKE_MATCH_1})
    set(folder ${CMAKE_MATCH_2})
    string(REPLACE "," ";" files "${CMAKE_MATCH_3}")
    set(rows "")
    foreach(file IN LISTS files)
      file(READ ${ROOT}/${folder}/${file} hex HEX)
      file(SIZE ${ROOT}/${folder}/${file} size)
      string(REGEX REPLACE "(................................................................)" "\\1\"\n     \"" hex "${hex}")
      string(REGEX REPLACE "([0-9a-f][0-9a-f])" "\\\\x\\1" hex "${hex}")
      string(APPEND rows "    {\"${file}\",\n     {\"${hex}\", ${size}}},\n")
    endforeach()
    string(APPEND source "
std::span<const EmbeddedFile> embedded_${name}() {
  static constexpr EmbeddedFile kFiles[] = {
${rows}  };
  return kFiles;
}
")
  endif()
endforeach()
string(APPEND source "
}  // namespace fieldfare::site
")
file(WRITE ${OUTPUT} "${source}")
