/* The train's driver: one call a sample turns what the sensors read into a command for the motor.
 *
 * Plain C99 without heap, interrupts or hardware: train.h, train.c and ride.h go into the controller's project, and the
 * maker's own sketch reads the pins, each RIDE_SAMPLE_TIME, which should be 0.02 s or less. Speeds and ways are floats:
 * fifty times a second a small controller has the time for them, and the formulas stay those of the ride card.
 *
 * The loop, with read_pin, write_pwm and wait_for_next_sample as your board calls them:
 *
 *     #include "train.h"
 *
 *     // measured on straight track, the train loaded: three motor commands and how fast [mm/s] it then runs,
 *     // the slowest that keeps it moving first; the rest in the order of train_settings below
 *     static const train_settings settings = {{60, 120, 200}, {40, 130, 260}, 4095, 1800, 3300, 20};
 *
 *     int main(void) {
 *         train my_train;
 *         train_begin(&my_train, &settings);   // the train stands still, its track sensor not over a marker
 *         for (;;) {
 *             train_inputs in = {0};           // what is not fitted stays 0
 *             in.light = read_pin(TRACK_SENSOR);
 *             in.battery = read_pin(BATTERY) * MILLIVOLTS;
 *             train_outputs out = train_step(&my_train, &in);
 *             write_pwm(MOTOR, out.command);   // out.state and out.fault are for a status light
 *             wait_for_next_sample();          // RIDE_SAMPLE_TIME after the one before, the same time each
 *         }
 *     }
 *
 * What it does by itself: for the first second it learns how bright the sleepers look. On a closed track it then runs
 * slowly to the longer marker of the first stop, and so knows where it is; where there is no longer one, it takes the
 * first marker that it meets for the first stop's. On an open line it begins at the plan's start. At the next three
 * stops it comes slowly: it slows down on each marker, whose length it knows, and how late the marker's end comes tells
 * it the motor's lag. From marker to marker it learns how fast it really runs, and corrects that at every stop. */
#ifndef PARTGEN_TRAIN_H
#define PARTGEN_TRAIN_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    uint16_t command[3];    /* three motor commands, rising; the first keeps the train just moving */
    float speed[3];         /* [mm/s] how fast the train runs with each */
    uint16_t light_most;    /* the track sensor's highest reading: what it reads with its plug pulled (pull-up) */
    uint16_t stall_current; /* [mA] more than this for TRAIN_STALL_TIME: the motor is stuck */
    uint16_t battery_low;   /* [mV] less than this for TRAIN_LOW_TIME: time to go home */
    uint16_t wait;          /* [s] at every stop */
} train_settings;

typedef struct {
    uint16_t light;         /* the track sensor's reading */
    uint16_t distance;      /* [mm] to whatever is in front of the train; 0: no distance sensor, nothing seen */
    uint16_t current;       /* [mA] through the motor; 0: not measured */
    uint16_t battery;       /* [mV]; 0: not measured */
} train_inputs;

typedef enum {
    TRAIN_LEARNING_LIGHT,   /* stands still and looks at the sleepers */
    TRAIN_DRIVING,
    TRAIN_STOPPING,         /* on the stop ramp to its stop */
    TRAIN_WAITING,          /* at its stop */
    TRAIN_HELD,             /* something is in front of it */
    TRAIN_HOME,             /* at the end of an open line, or at the first stop with a low battery: stays there */
    TRAIN_FAULTY            /* stays where it is until it is switched off and on */
} train_state;

typedef enum { TRAIN_FINE, TRAIN_STALLED, TRAIN_NO_MARKER, TRAIN_NO_SENSOR } train_fault;

typedef struct {
    uint16_t command;       /* for the motor; 0: off */
    train_state state;
    train_fault fault;
    uint8_t stop;           /* the stop it runs to or stands at, as in ride_markers */
    bool located;           /* does it know where it is? */
    bool low;               /* is the battery low? */
} train_outputs;

#define TRAIN_LAG_MOST      0.15f   /* [s] no motor that it learns of lags more; as much is feared till it has learnt */
#define TRAIN_LIGHT_TIME    1.0f    /* [s] looks at the sleepers before it starts */
#define TRAIN_CLEAR_TIME    2.0f    /* [s] nothing in front for this long: goes on */
#define TRAIN_STALL_TIME    0.3f    /* [s] */
#define TRAIN_LOW_TIME      2.0f    /* [s] */
#define TRAIN_PLUG_TIME     0.2f    /* [s] the track sensor reads nothing or its most: it is unplugged */
#define TRAIN_HAND_ROOM     60.0f   /* [mm] kept to whatever is in front when it has stopped */
#define TRAIN_HAND_NEAR     40.0f   /* [mm] nearer than this the motor is cut at once */
#define TRAIN_LESSONS       3       /* stops at which it learns the motor's lag */

/* All that a train remembers from one sample to the next. Declare one, and leave its fields to train.c. */
typedef struct {
    const train_settings *settings;
    train_state state;
    train_fault fault;
    uint8_t run;            /* which of ride_runs it is on: that ends at the marker and stop of the same number */
    uint32_t rested;        /* [samples] in this state */
    bool located, low;

    float from, to, speed;  /* [mm/s] the ramp it is on, and the speed ordered now */
    float step, pace_of_step;   /* how far along that ramp, and how much farther with every sample */

    float room, spread;     /* how bright the sleepers look, and how far their readings scatter */
    float bright, peak;     /* how much brighter or darker a marker looks: the last one, and this one till now */
    uint8_t alike;          /* readings in a row that say otherwise than `on` */
    bool on;                /* is there a marker under the sensor? */
    float since_edge;       /* [mm] ordered way since the first of those readings */

    float gone;             /* [mm] since it left its stop */
    float to_go;            /* [mm] to its stop, once its marker is seen */
    bool seen;              /* is the marker of this run's stop seen? */
    float on_marker;        /* [mm] ordered way since that marker's near end */
    float entered;          /* [mm/s] at its near end */
    float between;          /* [mm] ordered way since the near end of the marker before */
    bool between_known;     /* does that count? */

    float pace;             /* real speed over what the three points say */
    bool paced;             /* was that ever measured? */
    bool teaching;          /* is this marker one that teaches the lag? */
    float lag;              /* [s] of the motor */
    uint8_t lessons;        /* how often the lag was measured */

    uint32_t stuck, weak, dark, clear;  /* [samples] that the inputs have said so in a row */
} train;

/* Make a train ready; it stands still. `settings` has to stay where it is. */
void train_begin(train *t, const train_settings *settings);

/* Take what the sensors read now; return what to do until the next sample. */
train_outputs train_step(train *t, const train_inputs *in);

#endif
