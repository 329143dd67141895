/* The core on an ATmega328P at 16 MHz. Reference, untested on a real chip: README.md has the circuit and the cautions.

   D5 heater (solid-state relay), D6 contactor, D7 lamp: high is on, each through a transistor with a pull-down.
   B2 select, B4 data, B5 clock of a thermocouple converter with 32-bit frames: bits 31..18 the temperature in quarters
   of a degree, bit 16 a fault. A frame of all zeros or all ones is no converter. */

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "board_core.h"

#ifndef BAUD
#define BAUD 38400
#endif
#define WINDOW_MS 2000 /* a solid-state relay is on for its share of this */
#define CONVERT_MS 250

enum { HEATER, CONTACTOR, LAMP };
enum { PROCESS, COUNT };

const char board_name[] = "carver_bench", board_version[] = "1"; /* give each board a name of its own */
const board_output board_outputs[] = {{"heater", 1, 1000}, {"contactor", 1, 1}, {"lamp", 0, 1}};
const uint8_t board_output_count = 3;
const char *const board_signals[] = {"process", "count"};
const uint8_t board_signal_count = 2;

static const uint8_t pin_of[] = {1 << PD5, 1 << PD6, 1 << PD7};
static uint16_t duty;
static int32_t process = BOARD_OPEN;
static uint16_t conversions;
static uint32_t now_ms;

/* ---- time: counted in the main loop, so a loop that hangs has no time that goes on ---- */

static void count_time(void)
{
    static uint16_t then;
    static uint32_t halves;
    uint16_t now = TCNT1; /* 62.5 a millisecond, runs over after 1.05 s: the watchdog is quicker */
    halves += 2ul * (uint16_t)(now - then);
    then = now;
    now_ms += halves / 125;
    halves %= 125;
}

/* ---- outputs ---- */

static void set_pin(uint8_t output, uint8_t on)
{
    if (on)
        PORTD |= pin_of[output];
    else
        PORTD &= (uint8_t)~pin_of[output];
}

static uint8_t pin_is_high(uint8_t output)
{
    __asm__ __volatile__("nop\n\tnop"); /* a pin reads what it was a cycle ago */
    return (PIND & pin_of[output]) != 0;
}

static uint8_t heater_due(void) { return now_ms % WINDOW_MS < (uint32_t)duty * (WINDOW_MS / 1000); }

void board_drive(uint8_t output, uint16_t value)
{
    if (output == HEATER)
        duty = value;
    set_pin(output, output == HEATER ? heater_due() : value != 0);
}

/* The pin has the last word: held high it is full heat, held low it is none. */
uint16_t board_pin(uint8_t output)
{
    uint8_t high = pin_is_high(output);
    if (output != HEATER)
        return high;
    if (high == ((PORTD & pin_of[HEATER]) != 0))
        return duty;
    return high ? 1000 : 0;
}

/* ---- sensor ---- */

static uint32_t frame(void)
{
    uint32_t bits = 0;
    PORTB &= (uint8_t)~(1 << PB2);
    for (uint8_t i = 0; i < 4; i++) {
        SPDR = 0;
        while (!(SPSR & 1 << SPIF))
            ;
        bits = bits << 8 | SPDR;
    }
    PORTB |= 1 << PB2;
    return bits;
}

static void convert(void)
{
    uint32_t bits = frame();
    int16_t quarters = (int16_t)(bits >> 16) >> 2;
    uint8_t broken = !bits || bits == UINT32_MAX || (bits >> 16 & 1);
    process = broken ? BOARD_OPEN : quarters * 25l;
    conversions++;
}

int32_t board_signal(uint8_t signal) { return signal == PROCESS ? process : conversions * 100l; }

/* ---- line: the interrupt only puts bytes aside ---- */

static volatile uint8_t heard[64], heard_in;
static uint8_t heard_out;

ISR(USART_RX_vect)
{
    uint8_t broken = UCSR0A & (1 << FE0 | 1 << DOR0), byte = UDR0;
    heard[heard_in++ & 63] = broken ? 0 : byte; /* a 0 spoils its line, as it must */
}

void board_send(char c)
{
    while (!(UCSR0A & 1 << UDRE0))
        ;
    UDR0 = (uint8_t)c;
}

/* ---- start and main loop ---- */

static void set_up_chip(void)
{
    PORTD = 0; /* low before they are outputs */
    DDRD = 1 << PD5 | 1 << PD6 | 1 << PD7;
    MCUSR = 0;
    wdt_enable(WDTO_500MS);
    TCCR1B = 1 << CS12; /* 16 MHz / 256 */
    PORTB = 1 << PB2;
    DDRB = 1 << PB2 | 1 << PB3 | 1 << PB5;
    SPCR = 1 << SPE | 1 << MSTR | 1 << SPR0; /* 1 MHz */
    UCSR0A = 1 << U2X0;
    UBRR0 = (F_CPU / 4 / BAUD - 1) / 2;
    UCSR0B = 1 << RXEN0 | 1 << TXEN0 | 1 << RXCIE0;
    UCSR0C = 1 << UCSZ01 | 1 << UCSZ00; /* 8N1 */
}

int main(void)
{
    uint32_t converted_ms = 0;
    set_up_chip();
    convert();
    board_start(now_ms);
    sei();
    for (;;) {
        count_time();
        if (now_ms - converted_ms >= CONVERT_MS) {
            converted_ms = now_ms;
            convert();
        }
        board_judge(now_ms);
        set_pin(HEATER, heater_due());
        while (heard_out != heard_in)
            board_hear(heard[heard_out++ & 63], now_ms);
        wdt_reset(); /* here and nowhere else */
    }
}
