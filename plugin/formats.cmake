# What makes bundles of the plugin: the LV2 shim, what is exported, presets, and what is mended in the turtle files.
# Included at the end of plugin/CMakeLists.txt.
find_package(Python3 REQUIRED COMPONENTS Interpreter)
find_path(SEGUENTE_LV2_INCLUDE lv2/core/lv2.h REQUIRED)

# The wrapper's entry is renamed; ours, in the shim, is the one that hosts call.
add_library(seguente_lv2_shim OBJECT lv2_shim.cpp lv2_time.cpp)
target_include_directories(seguente_lv2_shim SYSTEM PRIVATE ${SEGUENTE_LV2_INCLUDE})
target_link_libraries(seguente_lv2_shim PRIVATE seguente_options)
set_target_properties(seguente_lv2_shim PROPERTIES CXX_VISIBILITY_PRESET hidden VISIBILITY_INLINES_HIDDEN ON)
target_sources(seguente_plugin_LV2 PRIVATE $<TARGET_OBJECTS:seguente_lv2_shim>)
target_compile_definitions(seguente_plugin_LV2 PRIVATE lv2_descriptor=juce_lv2_descriptor)

# Nothing but a format's own entry points leaves a bundle: two plugins in one host must not find each other's symbols.
foreach(format LV2 VST3)
  set_target_properties(seguente_plugin_${format} PROPERTIES
    LINK_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/exports/${format}.map)
  target_link_options(seguente_plugin_${format} PRIVATE
    -Wl,--version-script=${CMAKE_CURRENT_SOURCE_DIR}/exports/${format}.map -Wl,--as-needed -Wl,--gc-sections)
endforeach()
