#include "solver/surge/trace.h"

#include <math.h>
#include <stddef.h>

struct trace_difference trace_compare(const struct surge_plan *plan, const struct surge *surge)
{
    const struct measured_trace *trace = &plan->measured;
    struct trace_difference answer = {0, (double)NAN, (double)NAN, (double)NAN};
    const double *head = surge->gauge_head + trace->gauge;
    const ptrdiff_t width = plan->gauge_count;
    double square = 0.0;
    int row = 1; /* the first kept instant not before the measured one: both rise */
    for (int i = 0; i < trace->count && surge->time_count > 1; i++) {
        double time = trace->time[i];
        while (row < surge->time_count && surge->time[row] < time) {
            row++;
        }
        if (time < surge->time[0] || row == surge->time_count) {
            continue;
        }
        double before = surge->time[row - 1];
        double share = (time - before) / (surge->time[row] - before);
        double run =
            head[(row - 1) * width] + share * (head[row * width] - head[(row - 1) * width]);
        double difference = run - trace->head[i];
        if (answer.count++ == 0 || fabs(difference) > fabs(answer.largest)) {
            answer.largest = difference;
            answer.largest_time = time;
        }
        square += difference * difference;
    }
    if (answer.count > 0) {
        answer.root_mean_square = sqrt(square / answer.count);
    }
    return answer;
}
