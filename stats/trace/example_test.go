package trace_test

import (
	"fmt"
	"math"

	"fairrun/stats/trace"
)

// A spin-up of 40 ms time constant, sampled 1,000 times a second: the 10–90 % transition
// of a first-order lag is ln 9 = 2.197 time constants.
func ExampleMeasure() {
	var speed, throttle trace.Signal
	for i := range 1500 {
		t := float64(i)/1000 - 0.3
		rpm, command := 0.0, 0.0
		if t >= 0 {
			rpm, command = -8000*math.Expm1(-t/0.040), 100
		}
		speed.Time, speed.Value = append(speed.Time, t), append(speed.Value, rpm)
		throttle.Time, throttle.Value = append(throttle.Time, t), append(throttle.Value, command)
	}
	run := trace.Run{Of: trace.Prepare(speed), Command: trace.Prepare(throttle)}
	v, err := trace.Measure(trace.Definition{What: trace.Transition, From: trace.Share(0.1), To: trace.Share(0.9)}, run)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f ms from %.1f to %.1f ms\n", 1e3*v.Value, 1e3*v.Edges[0], 1e3*v.Edges[1])

	v, _ = trace.Measure(trace.Definition{What: trace.Overshoot}, run)
	fmt.Printf("overshoot %.0f %%\n", 100*v.Value)

	run.Of = trace.Prepare(trace.Signal{Time: speed.Time[:450], Value: speed.Value[:450]})
	v, _ = trace.Measure(trace.Definition{What: trace.Transition, From: trace.Share(0.1), To: trace.Share(0.9)}, run)
	fmt.Println(v.Refused)
	// Output:
	// 87.9 ms from 4.2 to 92.1 ms
	// overshoot 0 %
	// the state after the step is recorded for 68.7 ms: hold it 236 ms longer
}
