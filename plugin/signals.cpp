#include "plugin/signals.h"
