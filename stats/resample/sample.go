package resample

import (
	"context"
	"runtime"
	"sync/atomic"

	"fairrun/stats/parallel"
)

const panicDraws = "resample: Sample needs at least one draw"

// Sample judges tests by so many fresh draws from the orders that might have
// been drawn, the same draws for all of them. They are made in chunks of 256,
// the first numbered 0. For each chunk sampler returns a function that fills in
// the treatment of every slot, with an allowed order each time it is called, all
// equally likely and independent of one another. The sampler is called from
// several goroutines at once, what it returns from one. If every chunk draws
// from a stream of random numbers of its own, the results are the same whatever
// the number of processors.
//
// Tests of any designs that share the slots and the drawn order may be put
// together; those of one design, with responses in the same slots, share most of
// the work.
//
// The error is ErrTooLarge, or that of ctx when it ends before. Sample panics if there is no draw or no test, the
// tests differ in their drawn orders, or a draw holds an unknown treatment.
func Sample(ctx context.Context, draws int, sampler func(chunk int) (fill func(order []int32)), tests ...*Test) ([]Result, error) {
	if draws < 1 {
		panic(panicDraws)
	}
	run := newRun(tests)
	if err := run.room(draws); err != nil {
		return nil, err
	}
	chunks := (draws + chunk - 1) / chunk
	run.grow(chunks)
	var next atomic.Int64
	var work parallel.Group
	for range min(chunks, runtime.GOMAXPROCS(0)) {
		work.Go(func() {
			w := run.worker()
			order := make([]int32, run.slots)
			for c := int(next.Add(1)) - 1; c < chunks && ctx.Err() == nil; c = int(next.Add(1)) - 1 {
				fill := sampler(c)
				w.open()
				for range min(chunk, draws-c*chunk) {
					if ended(ctx) {
						return
					}
					fill(order)
					w.order(order)
				}
				w.close(c)
			}
			run.collect(w)
		})
	}
	work.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return run.results(ctx, false)
}
