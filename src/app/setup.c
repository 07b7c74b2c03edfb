#include "command.h"
int sr_command_setup(int count, char** arguments){(void)count;(void)arguments;return 0;}
