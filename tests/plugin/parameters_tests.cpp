#include "plugin/parameters.h"
