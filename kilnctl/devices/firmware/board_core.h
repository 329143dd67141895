/* The board's side of kilnctl's line protocol (guide page connect/line-board.md), in portable C99.

   Reference, untested on a real chip. No heap, no library but string.h and stdint.h. Times are milliseconds of a
   counter that may run over. Values are hundredths. Everything is called from the main loop, nothing from an
   interrupt: a loop that hangs must starve the dead-man and the watchdog. */

#ifndef BOARD_CORE_H
#define BOARD_CORE_H

#include <stdint.h>

#define BOARD_LINE_MAX 250   /* characters of a line, line feed and carriage return not counted */
#define BOARD_FEED_MAX_S 30
#define BOARD_SENSOR_MS 3000 /* how long the process sensor may be open before the board drops by itself */
#define BOARD_OPEN INT32_MIN /* the value of a broken sensor */

typedef struct {
    const char *name;
    uint8_t heats;  /* dropped by dead-man, OFF and open sensor: the heater, and the contactor too */
    uint16_t full;  /* 1 for a switch, 1000 for a duty */
} board_output;

/* What the layer of a chip provides. Signal 0 is the process temperature. */
extern const char board_name[];    /* letters, digits, _ and - */
extern const char board_version[];
extern const board_output board_outputs[];
extern const uint8_t board_output_count;
extern const char *const board_signals[];
extern const uint8_t board_signal_count;

int32_t board_signal(uint8_t signal);                /* hundredths, or BOARD_OPEN */
void board_drive(uint8_t output, uint16_t value);    /* make the pin do it */
uint16_t board_pin(uint8_t output);                  /* what the pin does, read from the pin */
void board_send(char c);

/* First thing after a reset: every output off, then the banner. */
void board_start(uint32_t now_ms);
/* One byte from the line. */
void board_hear(uint8_t byte, uint32_t now_ms);
/* At least ten times a second: drops what heats when FED has run out or the sensor stays open. */
void board_judge(uint32_t now_ms);

#endif
