/* A simulated train under the firmware: motor with lag, light with drift, noise, hands and trouble. It knows train.h's
 * call and nothing of its formulas; the track comes in words, from the plan itself.
 *
 * In:  lap [mm] (0: open), sensor behind the front [mm], markers: count, then begins, length, stop [mm] of each;
 *      zones: count, then start, end [mm], most speed [mm/s] of each; top speed [mm/s], sample [s], runs, stops a run,
 *      seed, what happens (a word), where to start [mm] (-1: anywhere)
 * Out: a line for each stop: run, which since the start, stop, error [mm] (late positive), state, fault, lag [s]
 *      and at a run's end: end, state, fault, way [mm], time [s], where the hand was and where it held [mm], highest
 *      speed over what the zone allows, once it knows where it is, and has noticed its low battery */
#include "train.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 64, HISTORY = 512 };

static struct { double lap, behind, begins[MOST], length[MOST], stop[MOST]; int count; } line;
static struct { double start[MOST], end[MOST], most[MOST]; int count; } zone;
static double top, sample, dt;          /* mm/s, s, s between two moves */
static char trouble[32];
static unsigned long long dice;

static double rnd(void)     /* [0, 1), the same on every machine */
{
    dice = dice * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(dice >> 11) / 9007199254740992.0;
}

static double between(double low, double high) { return low + (high - low) * rnd(); }
static int is(const char *word) { return strcmp(trouble, word) == 0; }

typedef struct {
    double front, speed, factor, lag, share, wander, past[HISTORY], now;
    int tick;
} motion;

/* What the motor does with a command in the end: nothing below 30, then a line that bends a little. */
static double law(double command)
{
    const double over = command - 30.0;
    return over > 0 ? top * over / 900.0 * (1.05 - 0.05 * over / 900.0) : 0.0;
}

/* A millisecond or less: part of the lag is dead time, the rest a first-order lag. */
static void move(motion *m, double command)
{
    const double dead = m->lag * m->share, lazy = m->lag - dead;
    m->past[m->tick % HISTORY] = law(command) * m->factor * (1 + m->wander);
    const int then = m->tick - (int)(dead / dt);
    const double ordered = then >= 0 ? m->past[then % HISTORY] : 0.0;
    m->speed = lazy > dt ? m->speed + (ordered - m->speed) * dt / lazy : ordered;
    m->wander += between(-1, 1) * 0.016 * sqrt(dt) - m->wander * dt;
    m->front += m->speed * dt;
    m->now += dt;
    m->tick++;
}

static double round_line(double way)
{
    return line.lap > 0 ? way - line.lap * floor(way / line.lap) : way;
}

/* How much of the sensor's spot, 2 mm wide, lies on a marker. */
static double covered(double front)
{
    double most = 0;
    for (int k = 0; k < line.count; k++) {
        double in = round_line(front - line.behind - line.begins[k] + 10) - 10;
        double part = fmin(in + 1, line.length[k] - in + 1) / 2;
        most = fmax(most, fmin(fmax(part, 0), 1));
    }
    return most;
}

static int anyone_near(double front, double *start)
{
    *start = front;
    for (double ahead = -30; ahead < 30; ahead += 2)
        if (covered(front + ahead) > 0) return 1;
    return 0;
}

static uint16_t light(const motion *m, double phase)
{
    const double room = 900 + 250 * sin(phase + m->now / 40);      /* a cloud, a lamp, dusk */
    if (is("unplugged") && m->now > 6) return 4095;
    if (is("lamp") && m->now > 8) return (uint16_t)(room + 700 + 1400 * covered(m->front) + between(-25, 25));
    if (is("nomarker")) return (uint16_t)(room + between(-25, 25));
    return (uint16_t)(room + 1400 * covered(m->front) + between(-25, 25));
}

static double allowed(double front)
{
    for (int k = 0; k < zone.count; k++)
        if (zone.start[k] <= round_line(front) && round_line(front) < zone.end[k]) return zone.most[k];
    return 1e9;
}

static uint16_t command_at(double share)    /* bisection: the command that the maker finds for a speed */
{
    double low = 30, high = 2000;
    while (high - low > 0.01) *(law((low + high) / 2) < share * top ? &low : &high) = (low + high) / 2;
    return (uint16_t)(high + 0.5);
}

static void one_run(int run, int stops, double from)
{
    static train t;
    motion m = {.factor = between(0.95, 1.05), .lag = between(0, 0.15), .share = rnd()};
    const double shares[3] = {0.1, 0.5, 1.1}, phase = between(0, 6.28);
    train_settings settings = {.light_most = 4095, .stall_current = 1500, .battery_low = 3300, .wait = 2};
    train_outputs out = {0};
    double hand = 0, halted = 0, fastest = 0;
    int seen = 0, told = 0;

    for (int k = 0; k < 3; k++) {
        settings.command[k] = command_at(shares[k]);
        settings.speed[k] = (float)law(settings.command[k]);
    }
    if (from >= 0) m.front = from;
    else while (anyone_near(between(0, line.lap), &m.front)) continue;
    const double begun = m.front;
    train_begin(&t, &settings);
    for (int tick = 0; tick < 100000 && seen < stops; tick++) {
        train_inputs in = {.light = light(&m, phase), .battery = 4000, .current = 300};
        if (is("hand") && m.now > 8 && m.now < 14) {
            if (hand == 0) hand = m.front + top;
            in.distance = (uint16_t)fmax(hand - m.front, 1);
        }
        if (is("snatch") && m.now > 8 && m.now < 14) in.distance = 30;
        if (is("stall") && m.now > 8) in.current = 2500;
        if (is("low") && m.now > 60) in.battery = 3100;
        out = train_step(&t, &in);
        for (int k = 0; k < (int)(sample / dt + 0.5); k++) move(&m, is("blocked") && m.now > 8 ? 0 : out.command);
        if (out.located && (m.now > 65 || !is("low"))) fastest = fmax(fastest, m.speed / allowed(m.front));
        if (out.state == TRAIN_HELD && m.speed < 0.5 && halted == 0) halted = m.front;
        const int stands = (out.state == TRAIN_WAITING || out.state == TRAIN_HOME) && m.speed < 0.1;
        if (stands && !told) {
            int at = (out.stop + line.count - 1) % line.count;
            double late = round_line(m.front - line.stop[at] + line.lap / 2) - line.lap / 2;
            printf("stop %d %d %d %.3f %d %d %.3f\n", run, seen++, at, late, (int)out.state, (int)out.fault, m.lag);
        }
        told = stands;
        if ((out.state == TRAIN_HOME || out.state == TRAIN_FAULTY) && m.speed < 0.1) break;
    }
    printf("end %d %d %d %.3f %.2f %.3f %.3f %.4f\n", run, (int)out.state, (int)out.fault, m.front - begun, m.now, hand,
           halted, fastest);
}

int main(void)
{
    int runs, stops;
    double from;
    unsigned seed;
    if (scanf("%lf %lf %d", &line.lap, &line.behind, &line.count) != 3 || line.count > MOST) return 2;
    for (int k = 0; k < line.count; k++)
        if (scanf("%lf %lf %lf", &line.begins[k], &line.length[k], &line.stop[k]) != 3) return 2;
    if (scanf("%d", &zone.count) != 1 || zone.count > MOST) return 2;
    for (int k = 0; k < zone.count; k++)
        if (scanf("%lf %lf %lf", &zone.start[k], &zone.end[k], &zone.most[k]) != 3) return 2;
    if (scanf("%lf %lf %d %d %u %31s %lf", &top, &sample, &runs, &stops, &seed, trouble, &from) != 7) return 2;
    dice = seed;
    dt = sample / ceil(sample * 1000);
    for (int run = 0; run < runs; run++) one_run(run, stops, from);
    return 0;
}
