#include "plugin/shelf.h"
