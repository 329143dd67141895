/* An emulated ATmega328P with its serial line on a pseudo-terminal, a converter on its SPI, and a small oven; 1 x real
   time. Arguments: the program as ELF. Prints the terminal's name, then each change of the heat's pins, at its emulated second.
   Takes words on its input: open, short, absent, dead, whole (sensor), hang (main loop, interrupts go on), brown (0.4 s). */

#define _GNU_SOURCE
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <simavr/avr_ioport.h>
#include <simavr/avr_spi.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

#define HZ 16000000
#define LOOP_AT 0x7F00

static avr_t *avr;
static int line;
static avr_irq_t *to_uart, *to_spi;
static int may_send = 1, spi_at;
static double at_c = 20.0, hand_k = 0.0, mass = 1.0; /* of the oven that the heater heats */
static int cable = 1, lamp_in_place;
static char sensor[16] = "whole";

static unsigned pins(void) { return avr->data[0x2B] & avr->data[0x2A]; } /* PORTD and DDRD: undriven is pulled down */

static uint32_t frame(void)
{
    if (!strcmp(sensor, "absent"))
        return UINT32_MAX;
    if (!strcmp(sensor, "dead"))
        return 0;
    if (strcmp(sensor, "whole"))
        return !strcmp(sensor, "short") ? 0x00010002 : 0x00010001;
    return (uint32_t)((int32_t)((at_c + hand_k) * 4.0) * 4) << 16 | 0x1900;
}

static void spi_out(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    avr_raise_irq(to_spi, frame() >> (24 - 8 * (spi_at++ & 3)) & 0xFF);
}

static void selected(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    if (!value)
        spi_at = 0;
}

static void uart_out(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    uint8_t byte = (uint8_t)value;
    if (cable && write(line, &byte, 1) < 0)
        return;
}

static void uart_may(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value;
    may_send = param != NULL;
}

static void hear_line(void)
{
    uint8_t byte;
    for (int i = 0; i < 3 && may_send && read(line, &byte, 1) == 1; i++) /* 38400 baud */
        if (cable)
            avr_raise_irq(to_uart, byte);
}

static double emulated_s(void) { return (double)avr->cycle / HZ; }

static void obey(const char *word)
{
    printf("%.3f told\n", emulated_s());
    fflush(stdout);
    if (!strcmp(word, "hang")) {
        avr->flash[LOOP_AT] = 0xFF; /* rjmp to itself */
        avr->flash[LOOP_AT + 1] = 0xCF;
        avr->pc = LOOP_AT;
    } else if (!strcmp(word, "brown")) {
        avr_reset(avr);
        usleep(400000);
    } else if (sscanf(word, "hand %lf", &hand_k) == 1 || sscanf(word, "mass %lf", &mass) == 1) {
    } else if (sscanf(word, "cable %d", &cable) == 1 || sscanf(word, "lamp %d", &lamp_in_place) == 1) {
    } else {
        snprintf(sensor, sizeof sensor, "%s", word);
    }
}

static void hear_words(void)
{
    static char word[16];
    static size_t n;
    char c;
    while (read(0, &c, 1) == 1) {
        if (c != '\n' && n < sizeof word - 1) {
            word[n++] = c;
            continue;
        }
        word[n] = 0;
        n = 0;
        obey(word);
    }
}

static void open_line(void)
{
    struct termios raw;
    line = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (line < 0 || grantpt(line) || unlockpt(line))
        exit(1);
    int held = open(ptsname(line), O_RDWR | O_NOCTTY);
    tcgetattr(held, &raw);
    cfmakeraw(&raw);
    tcsetattr(held, TCSANOW, &raw);
    printf("%s\n", ptsname(line));
    fflush(stdout);
}

static void wire_up(void)
{
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    to_uart = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    to_spi = avr_io_getirq(avr, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_INPUT);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), uart_out, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XON), uart_may, &line);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XOFF), uart_may, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_OUTPUT), spi_out, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 2), selected, NULL);
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + t.tv_nsec / 1e9;
}

int main(int count, char **words)
{
    static elf_firmware_t program;
    unsigned then = 0, lit = 0;
    if (count != 2 || elf_read_firmware(words[1], &program))
        return 1;
    avr = avr_make_mcu_by_name("atmega328p");
    avr_init(avr);
    avr->frequency = HZ;
    avr->log = 0;
    avr_load_firmware(avr, &program);
    avr->frequency = HZ;
    wire_up();
    open_line();
    fcntl(0, F_SETFL, O_NONBLOCK);
    double start_s = now_s();
    for (uint64_t ms = 1;; ms++) {
        for (uint64_t goal = avr->cycle + HZ / 1000; avr->cycle < goal;)
            avr_run(avr);
        unsigned on = pins() >> 5 & 3;
        at_c += 0.001 * ((on == 3 && !lamp_in_place ? 1200.0 : 0.0) - (at_c - 20.0) * 4.0) / (600.0 * mass);
        unsigned now_lit = pins() >> 7 & 1;
        if (now_lit != lit || ms % 1000 == 0) {
            printf("%.3f lamp %u air %.2f\n", emulated_s(), now_lit, at_c);
            fflush(stdout);
        }
        lit = now_lit;
        if (on != then) {
            printf("%.3f heater=%u contactor=%u\n", emulated_s(), on & 1, on >> 1);
            fflush(stdout);
        }
        then = on;
        hear_line();
        if (ms % 10 == 0)
            hear_words();
        double ahead_s = start_s + ms / 1000.0 - now_s();
        if (ahead_s > 0)
            usleep((useconds_t)(ahead_s * 1e6));
    }
}
