#include "io/command/command.h"

int main(int argc, char *argv[])
{
    return (int)command_main(argc, argv);
}
