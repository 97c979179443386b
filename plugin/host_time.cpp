#include "plugin/host_time.h"
