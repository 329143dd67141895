/* The core with one dangerous mistake, chosen by -D: each of them the set-up must find. Never load one into a chip. */

#include "board_core.h"

#define board_hear sound_hear
#define board_start sound_start
static void sound_hear(uint8_t byte, uint32_t now_ms);
static void sound_start(uint32_t now_ms);
#include "board_core.c"
#undef board_hear
#undef board_start

static uint8_t begins(const char *word)
{
    return length > 10 && !memcmp(line + 4, word, strlen(word));
}

void board_hear(uint8_t byte, uint32_t now_ms)
{
    uint8_t feeds = 0;
#ifdef PUT_FEEDS
    feeds = byte == '\n' && begins("PUT ");
#endif
#ifdef SEE_FEEDS
    feeds = byte == '\n' && begins("SEE");
#endif
    sound_hear(byte, now_ms);
    if (feeds && fed_ms)
        fed_from_ms = now_ms;
#ifdef NEVER_DROPS
    if (fed_ms)
        fed_ms = UINT32_MAX;
#endif
    (void)begins;
}

void board_start(uint32_t now_ms)
{
    sound_start(now_ms);
#ifdef ON_AT_BOOT
    fed_from_ms = now_ms;
    fed_ms = 60000;
    for (uint8_t i = 0; i < board_output_count; i++)
        board_drive(i, board_outputs[i].full);
#endif
}
