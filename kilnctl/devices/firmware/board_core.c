#include "board_core.h"

#include <string.h>

static char line[BOARD_LINE_MAX + 1];
static uint16_t length; /* BOARD_LINE_MAX + 1: too long, dropped at its end */
static uint16_t sent_crc;
static uint32_t fed_from_ms, fed_ms; /* fed_ms 0: hungry */
static uint32_t open_from_ms;
static uint8_t sensor_open, sensor_bars;

/* ---- sending ---- */

static uint16_t crc_of(uint16_t crc, uint8_t byte)
{
    crc ^= byte;
    for (uint8_t bit = 0; bit < 8; bit++)
        crc = (crc & 1) ? (uint16_t)(crc >> 1 ^ 0xA001) : (uint16_t)(crc >> 1);
    return crc;
}

static void say_char(char c)
{
    sent_crc = crc_of(sent_crc, (uint8_t)c);
    board_send(c);
}

static void say(const char *text)
{
    while (*text)
        say_char(*text++);
}

static void say_whole(uint32_t number)
{
    char digits[11];
    uint8_t n = 0;
    do
        digits[n++] = (char)('0' + number % 10);
    while (number /= 10);
    while (n)
        say_char(digits[--n]);
}

static void say_value(int32_t hundredths)
{
    uint32_t size = hundredths < 0 ? 0u - (uint32_t)hundredths : (uint32_t)hundredths;
    if (hundredths == BOARD_OPEN) {
        say("open");
        return;
    }
    if (hundredths < 0)
        say_char('-');
    say_whole(size / 100);
    if (size % 100) {
        say_char('.');
        say_char((char)('0' + size / 10 % 10));
        if (size % 10)
            say_char((char)('0' + size % 10));
    }
}

static void end_reply(void)
{
    uint16_t crc = sent_crc;
    board_send('*');
    for (int8_t shift = 12; shift >= 0; shift -= 4)
        board_send("0123456789ABCDEF"[crc >> shift & 15]);
    board_send('\n');
}

/* ---- outputs and dead-man ---- */

static void drop_heat(void)
{
    for (uint8_t i = 0; i < board_output_count; i++)
        if (board_outputs[i].heats)
            board_drive(i, 0);
}

static void starve_and_drop(void)
{
    fed_ms = 0;
    drop_heat();
}

void board_judge(uint32_t now_ms)
{
    uint8_t open = board_signal(0) == BOARD_OPEN;
    if (open && !sensor_open)
        open_from_ms = now_ms;
    sensor_open = open;
    sensor_bars = open && (sensor_bars || now_ms - open_from_ms >= BOARD_SENSOR_MS);
    if (fed_ms && now_ms - fed_from_ms >= fed_ms)
        fed_ms = 0;
    if (!fed_ms || sensor_bars)
        drop_heat();
}

/* ---- one request ---- */

static uint8_t number(const char *text, uint32_t *value)
{
    uint8_t n = 0;
    for (*value = 0; text[n] >= '0' && text[n] <= '9' && n < 6; n++)
        *value = *value * 10 + (uint32_t)(text[n] - '0');
    return n && !text[n];
}

static void see(void)
{
    say("SEE");
    for (uint8_t i = 0; i < board_signal_count; i++) {
        say_char(' ');
        say(board_signals[i]);
        say_char('=');
        say_value(board_signal(i));
    }
    for (uint8_t i = 0; i < board_output_count; i++) {
        say_char(' ');
        say(board_outputs[i].name);
        say_char('=');
        say_whole(board_pin(i));
    }
}

static void fed(const char *text, uint32_t now_ms)
{
    uint32_t seconds;
    if (!number(text, &seconds) || seconds < 1 || seconds > BOARD_FEED_MAX_S) {
        say("ERR value");
        return;
    }
    fed_from_ms = now_ms;
    fed_ms = seconds * 1000;
    say("FED ");
    say_whole(seconds);
}

static const char *refusal(uint8_t i, const char *text, uint32_t *value)
{
    if (!number(text, value) || *value > board_outputs[i].full)
        return "ERR value";
    if (!*value || !board_outputs[i].heats)
        return 0;
    return !fed_ms ? "ERR hungry" : sensor_bars ? "ERR sensor" : 0;
}

static void put(char *words)
{
    uint32_t value;
    char *text = strchr(words, ' ');
    uint8_t i = 0;
    if (text) {
        *text++ = 0;
        while (i < board_output_count && strcmp(words, board_outputs[i].name))
            i++;
    }
    if (!text || i == board_output_count) {
        say("ERR unknown");
        return;
    }
    const char *why = refusal(i, text, &value);
    if (why) {
        say(why);
        return;
    }
    board_drive(i, (uint16_t)value);
    say("PUT ");
    say(board_outputs[i].name);
    say_char(' ');
    say_whole(board_pin(i));
}

static void act(char *words, uint32_t now_ms)
{
    if (!strcmp(words, "WHO")) {
        say("WHO ");
        say(board_name);
        say_char(' ');
        say(board_version);
    } else if (!strcmp(words, "SEE")) {
        see();
    } else if (!strcmp(words, "OFF")) {
        starve_and_drop();
        say("OFF");
    } else if (!strncmp(words, "FED ", 4)) {
        fed(words + 4, now_ms);
    } else if (!strncmp(words, "PUT ", 4)) {
        put(words + 4);
    } else {
        say("ERR unknown");
    }
}

/* ---- lines ---- */

static int8_t hex(char c)
{
    if (c >= '0' && c <= '9')
        return (int8_t)(c - '0');
    return c >= 'A' && c <= 'F' ? (int8_t)(c - 'A' + 10) : -1;
}

/* ">SS W...*CCCC" with a good CRC. */
static uint8_t is_request(void)
{
    uint16_t crc = 0xFFFF, sent = 0;
    if (length < 10 || line[0] != '>' || line[3] != ' ' || line[length - 5] != '*')
        return 0;
    if (hex(line[1]) < 0 || hex(line[2]) < 0)
        return 0;
    for (uint16_t i = 0; i < length - 5; i++)
        crc = crc_of(crc, (uint8_t)line[i]);
    for (uint8_t i = 4; i; i--) {
        if (hex(line[length - i]) < 0)
            return 0;
        sent = (uint16_t)(sent << 4 | (uint16_t)hex(line[length - i]));
    }
    return crc == sent;
}

static void heed(uint32_t now_ms)
{
    if (length == 3 && !memcmp(line, "OFF", 3)) {
        starve_and_drop();
        return;
    }
    if (!is_request())
        return;
    line[length - 5] = 0;
    board_judge(now_ms); /* a wish is judged by the time at which it came, not by that of the last look */
    sent_crc = 0xFFFF;
    say_char('<');
    say_char(line[1]);
    say_char(line[2]);
    say_char(' ');
    act(line + 4, now_ms);
    end_reply();
}

void board_hear(uint8_t byte, uint32_t now_ms)
{
    if (byte == '\n') {
        if (length <= BOARD_LINE_MAX)
            heed(now_ms);
        length = 0;
    } else if (byte != '\r') {
        if (length < BOARD_LINE_MAX)
            line[length] = (char)byte;
        if (length <= BOARD_LINE_MAX)
            length++;
    }
}

void board_start(uint32_t now_ms)
{
    for (uint8_t i = 0; i < board_output_count; i++)
        board_drive(i, 0);
    length = 0;
    fed_ms = 0;
    sensor_open = sensor_bars = 0;
    board_judge(now_ms);
    say("\n!HELLO ");
    say(board_name);
    say_char(' ');
    say(board_version);
    board_send('\n');
}
