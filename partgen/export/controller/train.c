/* The train's driver; train.h tells what it does and how it is called. */
#include "train.h"
#include "ride.h"

enum { BEGINS, LENGTH, STOP, SPEED, AHEAD };        /* columns of ride_markers */

static const bool closed = RIDE_LAP > 0.0f;
static const uint8_t first_stop = RIDE_LAP > 0.0f ? RIDE_MARKERS_COUNT - 1 : 0;    /* whose marker may be longer */
static const float longest_share = 1.3f;            /* of the others' length: a marker that nobody mixes up with them */
static const float too_long = 1.5f;                 /* of the longest marker's length: that is but a change of light */
static const float slow_share = 1.0f / 3.0f;        /* of a speed: slow beside it */
static const float settling = 0.3f;                 /* [s] the motor has for that, twice its most lag */

static float smaller(float a, float b) { return a < b ? a : b; }
static float larger(float a, float b) { return a > b ? a : b; }
static float within(float low, float value, float high) { return larger(low, smaller(value, high)); }
static bool lasting(uint32_t samples, float time) { return (float)samples * RIDE_SAMPLE_TIME >= time; }
static uint32_t in_a_row(uint32_t samples, bool so) { return so ? samples + 1 : 0; }

/* ---- the motor */

/* The command for a speed: straight lines through the three measured points; 0 is off. */
static uint16_t command_for(const train *t)
{
    const train_settings *s = t->settings;
    const float speed = t->speed / t->pace;
    const int k = speed > s->speed[1] ? 1 : 0;
    const float slope = ((float)s->command[k + 1] - (float)s->command[k]) / (s->speed[k + 1] - s->speed[k]);

    if (t->speed <= 0.0f) return 0;
    return (uint16_t)within(0.0f, (float)s->command[k] + slope * (speed - s->speed[k]) + 0.5f, 65535.0f);
}

/* Go to another speed: by the ride card's ramp, or `faster` along it. */
static void order(train *t, float speed, float faster)
{
    if (speed == t->to) return;
    t->from = t->speed;
    t->to = speed;
    t->step = 0.0f;
    t->pace_of_step = faster;
}

static void follow_ramp(train *t)
{
    const bool up = t->to > t->from;
    const uint32_t entry = (uint32_t)(t->step / (float)RIDE_STEP_SAMPLES);
    const uint32_t entries = up ? RIDE_START_RAMP_COUNT : RIDE_STOP_RAMP_COUNT;

    if (entry >= entries) {
        t->speed = t->to;
    } else {
        t->speed = t->from + (t->to - t->from) * (up ? ride_start_ramp[entry] : ride_stop_ramp[entry]);
        t->step += t->pace_of_step;
    }
}

/* Count a way that the train has gone. */
static void roll(train *t, float way)
{
    t->gone += way;
    t->to_go -= way;
    t->on_marker += way;
    t->between += way;
    t->since_edge += way;
}

/* Switch the motor off at once; the train rolls on by its lag. Ways are no longer sure enough to learn from. */
static void cut(train *t)
{
    roll(t, t->speed * t->lag);
    t->from = t->to = t->speed = 0.0f;
    t->between_known = false;
}

static void become(train *t, train_state state)
{
    t->state = state;
    t->rested = 0;
}

static void fail(train *t, train_fault fault)
{
    t->fault = fault;
    become(t, TRAIN_FAULTY);
    if (fault == TRAIN_STALLED) cut(t);
    order(t, 0.0f, 1.0f);
}

/* ---- how fast */

static const float *marker_ahead(const train *t) { return ride_markers[t->run]; }

/* Way from the last stop to where the sensor meets the next marker. */
static float way_to_marker(const train *t) { return ride_runs[t->run].length - marker_ahead(t)[AHEAD]; }

/* How far the train may be from where it believes to be. */
static float doubt(const train *t)
{
    return 20.0f + (t->paced ? 0.02f : 0.07f) * t->gone + t->speed * t->lag;
}

/* The way that a stop takes from the speed of now, with what the motor's lag adds. */
static float stop_way(const train *t) { return t->speed * (RIDE_STOP_WAY + t->lag); }

/* A marker as long as this is the first stop's; 0 where none is longer than the others. */
static float telling_length(void)
{
    float others = 0.0f;
    for (uint8_t k = 0; k < RIDE_MARKERS_COUNT; k++)
        if (k != first_stop) others = larger(others, ride_markers[k][LENGTH]);
    if (ride_markers[first_stop][LENGTH] < others * longest_share) return 0.0f;
    return others > 0.0f ? (others + ride_markers[first_stop][LENGTH]) / 2.0f : 0.0f;
}

/* A speed that is safe everywhere, and slow enough to stop once the first stop's marker is passed and so known. */
static float careful_speed(const train *t)
{
    const float left = ride_markers[first_stop][AHEAD] - ride_markers[first_stop][LENGTH];
    const float stopping = left / (RIDE_STOP_WAY + TRAIN_LAG_MOST + 2.0f * RIDE_SAMPLE_TIME);
    float speed = RIDE_SPEED;
    for (uint8_t run = 0; run < RIDE_RUNS_COUNT; run++)
        for (uint32_t k = 0; k < ride_runs[run].count; k++) speed = smaller(speed, ride_runs[run].steps[k].speed);
    return larger(within(slow_share * speed, stopping, speed), t->settings->speed[0]);
}

/* What a lesson's slow speed is, after one at which it comes to the marker. */
static float slow_speed(const train *t, float speed)
{
    return smaller(speed, larger(speed * slow_share, t->settings->speed[0]));
}

/* How much faster than at a stop a ramp may be walked along: it brakes no harder than a stop from full speed. */
static float quick(float drop) { return drop < RIDE_SPEED ? RIDE_SPEED / larger(drop, 1.0f) : 1.0f; }

/* The marker length that a lesson takes: seeing it, slowing down, and time for the laziest motor to settle. */
static float lesson_length(const train *t, float speed)
{
    const float slow = slow_speed(t, speed), drop = speed - slow;
    return speed * 2.0f * RIDE_SAMPLE_TIME + (speed + slow) / 2.0f * RIDE_STOP_TIME / quick(drop)
        + drop * TRAIN_LAG_MOST + slow * settling;
}

/* How fast to come to a marker that is to teach the motor's lag. */
static float lesson_speed(const train *t)
{
    float speed = careful_speed(t);
    while (speed > t->settings->speed[0] && lesson_length(t, speed) > marker_ahead(t)[LENGTH]) speed *= 0.95f;
    return speed;
}

/* How fast to come to the marker: so that stop ramp and lag end at the stop, and slowly while it learns. */
static float approach_speed(const train *t)
{
    if (t->teaching) return slow_speed(t, lesson_speed(t));
    if (t->lessons < TRAIN_LESSONS && !t->seen) return lesson_speed(t);
    return marker_ahead(t)[AHEAD] / (RIDE_STOP_WAY + t->lag + 1.5f * RIDE_SAMPLE_TIME);
}

/* The highest speed at this place: early where it falls, late where it rises. */
static float cap_here(const train *t)
{
    const ride_run *run = &ride_runs[t->run];
    float cap = run->steps[0].speed;
    for (uint32_t k = 1; k < run->count; k++) {
        const float way = run->steps[k].way, speed = run->steps[k].speed;
        if (t->gone + (speed < cap ? doubt(t) : -doubt(t)) >= way) cap = speed;
    }
    return cap;
}

static float speed_wished(const train *t)
{
    const float left = way_to_marker(t) - t->gone;
    float speed = t->located && !t->low ? cap_here(t) : careful_speed(t);
    if (t->located && (t->seen || left < t->speed * (RIDE_STOP_TIME + t->lag) + doubt(t)))
        speed = smaller(speed, approach_speed(t));
    return larger(speed, t->settings->speed[0]);
}

/* ---- the track sensor */

static float apart(const train *t, float light) { return light > t->room ? light - t->room : t->room - light; }

/* Learn at rest how bright the sleepers look, and how far readings scatter. */
static void learn_light(train *t, float light)
{
    t->room = t->rested ? t->room + (light - t->room) / ((float)t->rested + 1.0f) : light;
    if (t->rested > 5) t->spread = larger(t->spread, apart(t, light));
    t->rested++;
    if (!lasting(t->rested, TRAIN_LIGHT_TIME)) return;
    become(t, TRAIN_DRIVING);
}

/* Is what the sensor sees no sleeper? Half way to a marker's brightness, once one was seen: then it counts for as long
 * as it is. */
static bool strange(const train *t, float light)
{
    return apart(t, light) > larger(larger(4.0f * t->spread, (float)t->settings->light_most / 32.0f), t->bright / 2.0f);
}

/* Has a marker begun or ended? `on` says which; the edge was half a sample's way before the first reading of it. */
static bool edge(train *t, float light)
{
    const bool now = strange(t, light);
    if (!now && !t->on) t->room += (light - t->room) / 128.0f;     /* daylight fades, lamps are lit */
    if (now) t->peak = larger(t->peak, apart(t, light));
    if (now == t->on) {
        t->alike = 0;
        return false;
    }
    if (t->alike == 0) t->since_edge = t->speed * RIDE_SAMPLE_TIME / 2.0f;
    if (++t->alike < RIDE_MARKER_SAMPLES) return false;
    t->alike = 0;
    t->on = now;
    return true;
}

/* Learn from the way between two markers how fast the train really runs. */
static void learn_pace(train *t, float entered_before)
{
    const uint8_t before = t->run ? t->run - 1 : RIDE_MARKERS_COUNT - 1;
    const float real = ride_markers[before][AHEAD] + way_to_marker(t);
    const float ordered = t->between - t->since_edge + t->lag * (entered_before - t->entered);
    t->pace = within(0.7f, t->pace * real / ordered, 1.4f);
    t->paced = true;
}

/* The stop is done with, or passed by: the next run begins. */
static void next_run(train *t)
{
    t->run = (uint8_t)((t->run + 1) % RIDE_RUNS_COUNT);
    t->seen = t->teaching = false;
    t->gone = 0.0f;
}

/* The marker that has passed by is the first stop's, if it is as long. Where it is too late to stop, it drives on. */
static void locate(train *t, float length)
{
    const float real = ride_markers[first_stop][LENGTH];
    if (length < telling_length() || length > too_long * real) return;
    t->located = t->seen = true;
    t->to_go = ride_markers[first_stop][AHEAD] - real - t->since_edge;
    if (t->to_go < stop_way(t)) {
        next_run(t);
        t->gone = -t->to_go;
    }
}

/* Can this marker teach the lag? Only if the train runs at a known speed, and came to it slowly. */
static bool teaches(const train *t)
{
    return t->paced && t->lessons < TRAIN_LESSONS && t->entered < 1.1f * lesson_speed(t);
}

static void marker_begins(train *t)
{
    const float entered_before = t->entered;
    const bool expected = t->located && t->gone > 0.85f * way_to_marker(t) - 50.0f;

    if (t->seen) return;
    t->on_marker = t->since_edge;
    if (t->located && !expected) return;
    t->entered = t->speed;
    if (t->located && t->between_known) learn_pace(t, entered_before);
    t->between = t->since_edge;
    t->between_known = true;
    if (!t->located) return;
    t->teaching = teaches(t);
    t->seen = true;
    t->to_go = marker_ahead(t)[AHEAD] - t->since_edge;
}

/* Learn the motor's lag: the train went farther on the marker than ordered, by lag times the drop of speed. */
static void learn_lag(train *t, float ordered)
{
    const float drop = t->entered - t->speed, length = marker_ahead(t)[LENGTH];
    if (drop < t->entered / 3.0f) return;
    const float lag = within(0.0f, (length - ordered) / drop, TRAIN_LAG_MOST);
    t->lessons++;
    t->lag = t->lessons > 1 ? t->lag + (lag - t->lag) / (float)t->lessons : lag;
    t->to_go = marker_ahead(t)[AHEAD] - length - t->since_edge;
}

static void marker_ends(train *t)
{
    const float ordered = t->on_marker - t->since_edge;

    t->bright = t->peak;
    t->peak = 0.0f;
    if (!t->located) locate(t, ordered);
    else if (t->teaching && t->state == TRAIN_DRIVING) learn_lag(t, ordered);
}

static void look_down(train *t, float light)
{
    if (edge(t, light)) {
        if (t->on) marker_begins(t);
        else marker_ends(t);
    }
    if (t->on && t->on_marker > too_long * ride_markers[first_stop][LENGTH]) {
        t->room = light;
        t->on = false;
        t->peak = 0.0f;
    }
}

/* ---- what can go wrong */

static void watch(train *t, const train_inputs *in)
{
    const train_settings *s = t->settings;
    const bool moves = t->speed > 0.0f;
    const float most = t->located ? way_to_marker(t) : closed ? RIDE_LAP : ride_runs[0].length;

    t->stuck = in_a_row(t->stuck, moves && in->current > s->stall_current);
    t->weak = in_a_row(t->weak, in->battery > 0 && in->battery < s->battery_low);
    t->dark = in_a_row(t->dark, in->light == 0 || in->light >= s->light_most);
    t->low = t->low || lasting(t->weak, TRAIN_LOW_TIME);
    if (t->state == TRAIN_FAULTY) return;
    if (lasting(t->stuck, TRAIN_STALL_TIME)) fail(t, TRAIN_STALLED);
    else if (lasting(t->dark, TRAIN_PLUG_TIME)) fail(t, TRAIN_NO_SENSOR);
    else if (!t->seen && t->gone > 1.1f * most + 100.0f) fail(t, TRAIN_NO_MARKER);
}

/* Stop for whatever is in front: on the ramp while there is room for it, at once where it is near. */
static void look_ahead(train *t, const train_inputs *in)
{
    const float free = in->distance > 0 ? (float)in->distance : 1e6f;

    t->clear = in_a_row(t->clear, free > 2.0f * TRAIN_HAND_ROOM);
    if (t->state != TRAIN_DRIVING && t->state != TRAIN_STOPPING && t->state != TRAIN_HELD) return;
    if (free < TRAIN_HAND_NEAR && t->speed > 0.0f) {
        cut(t);
        become(t, TRAIN_HELD);
    } else if (t->state == TRAIN_DRIVING && free < stop_way(t) + TRAIN_HAND_ROOM) {
        order(t, 0.0f, 1.0f);
        become(t, TRAIN_HELD);
    }
}

/* ---- from stop to stop */

static void drive(train *t)
{
    const float speed = speed_wished(t);
    const bool lesson = t->teaching && speed < t->speed;

    if (t->seen && t->to_go - t->speed * RIDE_SAMPLE_TIME / 2.0f <= stop_way(t)) {
        order(t, 0.0f, 1.0f);
        become(t, TRAIN_STOPPING);
    } else {
        order(t, speed, lesson ? quick(t->speed - speed) : 1.0f);
    }
}

/* The train stands at its stop: the next run begins here. */
static void arrive(train *t)
{
    const bool end = !closed && t->run + 1 == RIDE_RUNS_COUNT;
    const bool home = end || (t->low && t->run == first_stop);

    next_run(t);
    become(t, home ? TRAIN_HOME : TRAIN_WAITING);
}

static void go_on(train *t, const train_inputs *in)
{
    switch (t->state) {
    case TRAIN_LEARNING_LIGHT:
        learn_light(t, (float)in->light);
        break;
    case TRAIN_DRIVING:
        drive(t);
        break;
    case TRAIN_STOPPING:
        if (t->speed <= 0.0f) arrive(t);
        break;
    case TRAIN_WAITING:
        if (lasting(++t->rested, (float)t->settings->wait)) become(t, TRAIN_DRIVING);
        break;
    case TRAIN_HELD:
        if (t->speed <= 0.0f && lasting(t->clear, TRAIN_CLEAR_TIME)) become(t, TRAIN_DRIVING);
        break;
    case TRAIN_HOME:
    case TRAIN_FAULTY:
        break;
    }
}

void train_begin(train *t, const train_settings *settings)
{
    *t = (train){.settings = settings, .state = TRAIN_LEARNING_LIGHT, .run = first_stop, .located = !closed,
                 .pace = 1.0f, .lag = TRAIN_LAG_MOST, .pace_of_step = 1.0f};
}

train_outputs train_step(train *t, const train_inputs *in)
{
    roll(t, t->speed * RIDE_SAMPLE_TIME);
    if (t->state != TRAIN_LEARNING_LIGHT) look_down(t, (float)in->light);
    watch(t, in);
    look_ahead(t, in);
    go_on(t, in);
    follow_ramp(t);
    return (train_outputs){.command = command_for(t), .state = t->state, .fault = t->fault, .stop = t->run,
                           .located = t->located, .low = t->low};
}
