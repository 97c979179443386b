// Catch2 2 (Debian 12) and 3 (Debian 13) under one roof. Use only TEST_CASE, SECTION, CHECK, REQUIRE, INFO and Approx.
#pragma once

#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
using Catch::Approx;
#else
#include <catch2/catch.hpp>
#endif
