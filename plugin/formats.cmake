# What makes bundles of the plugin: the LV2 shim, what is exported, presets, and what is mended in the turtle files.
# Included at the end of plugin/CMakeLists.txt.
find_package(Python3 REQUIRED COMPONENTS Interpreter)
find_path(SEGUENTE_LV2_INCLUDE lv2/core/lv2.h REQUIRED)

# The presets and the table of parameters, for the two finishing scripts.
file(GLOB SEGUENTE_PRESET_FILES CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/presets/*.toml)  # data, never code
set(SEGUENTE_DESCRIPTION ${CMAKE_CURRENT_BINARY_DIR}/description.json)
add_executable(seguente_describe describe.cpp)
target_link_libraries(seguente_describe PRIVATE seguente_plugin_core seguente_options)
add_custom_command(OUTPUT ${SEGUENTE_DESCRIPTION}
  COMMAND seguente_describe ${SEGUENTE_PRESET_FILES} > ${SEGUENTE_DESCRIPTION}
  DEPENDS seguente_describe ${SEGUENTE_PRESET_FILES}
  VERBATIM)
add_custom_target(seguente_description DEPENDS ${SEGUENTE_DESCRIPTION})

# What each plugin needs beyond the framework: its shim, its exports, and the finishing scripts.
# target: of juce_add_plugin. audio: how many audio outputs it has.
function(seguente_finish_formats target audio)
  # The wrapper's entry is renamed; ours, in the shim, is the one that hosts call.
  add_library(${target}_lv2_shim OBJECT lv2_shim.cpp lv2_time.cpp)
  target_include_directories(${target}_lv2_shim SYSTEM PRIVATE ${SEGUENTE_LV2_INCLUDE})
  target_compile_definitions(${target}_lv2_shim PRIVATE SEGUENTE_LV2_AUDIO_OUTPUTS=${audio})
  target_link_libraries(${target}_lv2_shim PRIVATE seguente_options)
  set_target_properties(${target}_lv2_shim PROPERTIES CXX_VISIBILITY_PRESET hidden VISIBILITY_INLINES_HIDDEN ON)
  target_sources(${target}_LV2 PRIVATE $<TARGET_OBJECTS:${target}_lv2_shim>)
  target_compile_definitions(${target}_LV2 PRIVATE lv2_descriptor=juce_lv2_descriptor)

  # Nothing but a format's own entry points leaves a bundle: two plugins in one host must not find each other's symbols.
  foreach(format LV2 VST3)
    set_target_properties(${target}_${format} PROPERTIES
      LINK_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/exports/${format}.map)
    target_link_options(${target}_${format} PRIVATE
      -Wl,--version-script=${CMAKE_CURRENT_SOURCE_DIR}/exports/${format}.map -Wl,--as-needed -Wl,--gc-sections)
    add_dependencies(${target}_${format} seguente_description)
  endforeach()

  # After the framework's own steps, which write the turtle files anew whenever a bundle is linked. What the scripts read
  # is a dependency of the link, so that a changed preset is in the bundle too.
  get_target_property(maker_code ${target} JUCE_PLUGIN_MANUFACTURER_CODE)
  get_target_property(plugin_code ${target} JUCE_PLUGIN_CODE)
  get_target_property(company ${target} JUCE_COMPANY_NAME)
  get_target_property(product ${target} JUCE_PRODUCT_NAME)
  add_custom_command(TARGET ${target}_LV2 POST_BUILD
    COMMAND Python3::Interpreter ${CMAKE_CURRENT_SOURCE_DIR}/finish_lv2.py
      $<TARGET_FILE_DIR:${target}_LV2> ${SEGUENTE_DESCRIPTION}
    VERBATIM)
  add_custom_command(TARGET ${target}_VST3 POST_BUILD
    COMMAND Python3::Interpreter ${CMAKE_CURRENT_SOURCE_DIR}/finish_vst3.py
      "$<TARGET_FILE_DIR:${target}_VST3>/../../../presets/${company}/${product}" ${SEGUENTE_DESCRIPTION}
      ${maker_code} ${plugin_code}
    VERBATIM)
  set_property(TARGET ${target}_LV2 APPEND PROPERTY LINK_DEPENDS
    ${SEGUENTE_DESCRIPTION} ${CMAKE_CURRENT_SOURCE_DIR}/finish_lv2.py)
  set_property(TARGET ${target}_VST3 APPEND PROPERTY LINK_DEPENDS
    ${SEGUENTE_DESCRIPTION} ${CMAKE_CURRENT_SOURCE_DIR}/finish_vst3.py)
endfunction()
