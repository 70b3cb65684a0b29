#include "io/command/command.h"
#include "io/command/guard.h"

int main(int argc, char *argv[])
{
    int code = 0;
    return guard_waits(argc, argv, &code) ? code : (int)command_main(argc, argv);
}
