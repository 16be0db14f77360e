package resample

import (
	"context"
	"iter"
	"runtime"
	"slices"

	"fairrun/stats/parallel"
)

const panicOrder = "resample: an order needs a treatment for each slot"

// Enumerate judges tests by all orders that might have been drawn, each
// once, the drawn one among them. An order gives the treatment of every slot,
// and may be overwritten by the next. Orders that differ only by an exchange of
// the names of treatments are orders of their own.
//
// The error is ErrNotDrawn or ErrTooLarge, or that of ctx when it ends before. Enumerate panics as Sample does, and
// if an order has not one treatment for each slot.
func Enumerate(ctx context.Context, orders iter.Seq[[]int32], tests ...*Test) ([]Result, error) {
	run := newRun(tests)
	full := make(chan batch)
	// One batch in the hands of each worker, and one being filled.
	workers := runtime.GOMAXPROCS(0)
	empty := make(chan []int32, workers+1)
	for range cap(empty) {
		empty <- make([]int32, 0, chunk*run.slots)
	}
	var work parallel.Group
	for range workers {
		work.Go(func() {
			defer func() { // what a panic leaves is taken all the same, or the dealer waits for ever
				for b := range full {
					empty <- b.orders[:0]
				}
			}()
			w := run.worker()
			for b := range full {
				w.open()
				for order := range slices.Chunk(b.orders, run.slots) {
					if ended(ctx) {
						return
					}
					w.order(order)
				}
				w.close(b.chunk)
				empty <- b.orders[:0]
			}
			run.collect(w)
		})
	}
	drawn, err := run.deal(ctx, orders, full, empty)
	work.Wait()
	switch {
	case err != nil:
		return nil, err
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case !drawn:
		return nil, ErrNotDrawn
	}
	return run.results(ctx, true)
}

// batch is a chunk of orders, one after another.
type batch struct {
	chunk  int
	orders []int32
}

// deal hands the orders out in batches, closes full, and reports whether the
// drawn one is among them.
func (r *run) deal(ctx context.Context, orders iter.Seq[[]int32], full chan<- batch, empty <-chan []int32) (drawn bool, err error) {
	defer close(full)
	b := batch{orders: <-empty}
	hand := func() {
		r.grow(b.chunk + 1)
		full <- b
		b = batch{b.chunk + 1, <-empty}
	}
	for order := range orders {
		if ended(ctx) {
			return drawn, ctx.Err()
		}
		if len(order) != r.slots {
			panic(panicOrder)
		}
		drawn = drawn || slices.Equal(order, r.drawn)
		b.orders = append(b.orders, order...)
		if len(b.orders) == cap(b.orders) {
			if err := r.room((b.chunk + 1) * chunk); err != nil {
				return drawn, err
			}
			hand()
		}
	}
	if len(b.orders) > 0 {
		hand()
	}
	return drawn, nil
}
