/* State of a non-return valve while things move: places in the array of models/element.h. */
#ifndef MODELS_NON_RETURN_STATE_H
#define MODELS_NON_RETURN_STATE_H

enum {
    NON_RETURN_STATE_OPENING,      /* s, share of travel */
    NON_RETURN_STATE_SPEED,        /* ds/dt, 1/s */
    NON_RETURN_STATE_SHUT_TIME,    /* s, when it last met its seat */
    NON_RETURN_STATE_REVERSE_FLOW, /* m3/s, <= 0, flow as it met its seat, the largest so far */
    NON_RETURN_STATE_SEAT_SPEED,   /* m/s or rad/s at the seat then */
    NON_RETURN_STATE_SHUTS,        /* how often it has met its seat */
    NON_RETURN_STATE_FLOW,         /* m3/s at the end of the last step */
    NON_RETURN_STATE_RATE,         /* m3/s2, how fast the flow changed in it */
    NON_RETURN_STATE_LIFTED,       /* 1: it has been off its seat since it last met it */
    NON_RETURN_STATE_LAST_REVERSE, /* m3/s, <= 0, flow as it last met its seat */
    NON_RETURN_STATE_BOUNCES,      /* how often it has come back from its seat by restitution */
    NON_RETURN_STATE_TURNED,       /* s, when the flow that a held part waits for came */
    NON_RETURN_STATE_COUNT
};

/* What stands in a time of the state that has not come. */
enum { NON_RETURN_NOT_YET = -1 };

#endif
