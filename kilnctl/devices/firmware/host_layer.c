/* The core on a desk computer: as a shared library in a time that its caller makes, or (-DON_A_LINE) as a program
   on a pseudo-terminal in real time, with a small oven that warms. For tests; it switches nothing. */

#define _XOPEN_SOURCE 600
#include "board_core.h"

const char board_name[] = "carver_bench", board_version[] = "1";
const board_output board_outputs[] = {{"heater", 1, 1000}, {"contactor", 1, 1}, {"lamp", 0, 1}};
const uint8_t board_output_count = 3;
const char *const board_signals[] = {"process"};
const uint8_t board_signal_count = 1;

static uint16_t pins[3];
static char out[4096];
static uint16_t out_length;
static uint32_t now_ms;
static int32_t process = 2000;

int32_t board_signal(uint8_t signal) { (void)signal; return process; }
void board_drive(uint8_t output, uint16_t value) { pins[output] = value; }
uint16_t board_pin(uint8_t output) { return pins[output]; }

void board_send(char c)
{
    if (out_length < sizeof out)
        out[out_length++] = c;
}

void desk_clock(uint32_t ms) { now_ms = ms; }
void desk_start(void) { board_start(now_ms); }
void desk_sensor(int32_t hundredths) { process = hundredths; }

void desk_pass(uint32_t ms)
{
    for (; ms; ms--) {
        now_ms++;
        if (now_ms % 10 == 0)
            board_judge(now_ms);
    }
}

void desk_hear(const uint8_t *bytes, uint32_t count)
{
    while (count--)
        board_hear(*bytes++, now_ms);
}

/* Returns how many bytes it has put into `to`, which holds 4096. */
uint16_t desk_sent(char *to)
{
    uint16_t count = out_length;
    for (uint16_t i = 0; i < count; i++)
        to[i] = out[i];
    out_length = 0;
    return count;
}

#ifdef ON_A_LINE
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static uint32_t clock_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint32_t)(t.tv_sec * 1000 + t.tv_nsec / 1000000);
}

static double warmed(double at_c, double seconds)
{
    double duty = pins[1] ? pins[0] / 1000.0 : 0.0;
    return at_c + seconds * (duty * 1200.0 - (at_c - 20.0) * 4.0) / 600.0;
}

static int open_line(void)
{
    struct termios raw;
    int line = posix_openpt(O_RDWR | O_NOCTTY), held;
    if (line < 0 || grantpt(line) || unlockpt(line) || (held = open(ptsname(line), O_RDWR | O_NOCTTY)) < 0)
        return -1;
    tcgetattr(held, &raw);
    raw.c_iflag = raw.c_oflag = raw.c_lflag = 0;
    raw.c_cc[VMIN] = 1;
    tcsetattr(held, TCSANOW, &raw);
    puts(ptsname(line));
    fflush(stdout);
    return line;
}

int main(void)
{
    struct pollfd line = {open_line(), POLLIN, 0};
    uint8_t bytes[256];
    double at_c = 20.0;
    if (line.fd < 0)
        return 1;
    now_ms = clock_ms();
    desk_start();
    for (uint32_t last_ms = now_ms;; last_ms = now_ms) {
        ssize_t got = poll(&line, 1, 10) > 0 ? read(line.fd, bytes, sizeof bytes) : 0;
        now_ms = clock_ms();
        at_c = warmed(at_c, (now_ms - last_ms) / 1000.0);
        desk_sensor((int32_t)(at_c * 100.0));
        board_judge(now_ms);
        if (got > 0)
            desk_hear(bytes, (uint32_t)got);
        if (out_length && write(line.fd, out, out_length) < 0)
            return 1;
        out_length = 0;
    }
}
#endif
