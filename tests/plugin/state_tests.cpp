#include "plugin/state.h"
