package resample

import (
	"runtime"
	"sync"
	"sync/atomic"
)

const panicDraws = "resample: Sample needs at least one draw"

// Sample holds tests against so many fresh draws from the orders that might have
// been drawn, the same draws for all of them. Orders are drawn by the chunk, of
// which there are as many as it takes at 256 each: sampler returns what fills in the
// treatment of every slot for the orders of one chunk, each with an allowed
// order, equally likely and independent of all others. It is called
// from several goroutines at once; what it returns, from one. With a stream of
// random numbers of its own for each chunk, the results are the same whatever the number of
// processors.
//
// Tests of designs with the same slots may be put together in any number; those
// of one design, with responses in the same slots, share most of the work.
//
// The error is ErrTooLarge: intervals keep some numbers of every draw. Sample panics
// if there is no draw, an order holds no treatment of the design, or the tests have not the same number of slots.
func Sample(draws int, sampler func(chunk int) (fill func(order []int32)), tests ...*Test) ([]Result, error) {
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
	var wg sync.WaitGroup
	for range min(chunks, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			w := run.worker()
			order := make([]int32, run.slots)
			for c := int(next.Add(1)) - 1; c < chunks; c = int(next.Add(1)) - 1 {
				fill := sampler(c)
				w.open()
				for range min(chunk, draws-c*chunk) {
					fill(order)
					w.order(order)
				}
				w.close(c)
			}
			run.collect(w)
		})
	}
	wg.Wait()
	return run.results(false), nil
}
