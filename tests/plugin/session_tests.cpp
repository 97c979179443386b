#include "plugin/session.h"
