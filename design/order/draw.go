package order

// Drawn is an order and the record of its draw. Written as JSON and read back, it gives the same
// Set.
type Drawn struct {
	Version int    `json:"version"`
	Seed    uint64 `json:"seed"`
	Plan    Plan   `json:"plan"`

	// Scope, Threshold, Acceptance and Orders say which orders were allowed: those whose loss, of the
	// campaign or of each block, is at most Threshold; the share of all orders that
	// Acceptance gives; Orders in number.
	Scope      Scope   `json:"scope"`
	Threshold  float64 `json:"threshold"`
	Acceptance float64 `json:"acceptance"`
	Orders     Count   `json:"orders"`

	// Efficiency is the average variance of a comparison without drift over that with it, in this order: 1 means
	// that drift costs nothing.
	Efficiency float64 `json:"efficiency"`

	// Blocks holds the index of the treatment at each position of each block.
	Blocks [][]int `json:"blocks"`
}

// Draw draws an order for p. The same plan and seed give the same order. It returns an *ImpossibleError for
// a plan that no order can serve.
func Draw(p Plan, seed uint64) (*Drawn, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s := newSet(p)
	r, err := s.choose(NewSource(seed, streamPilot))
	if err != nil {
		return nil, err
	}
	s.keep(r.threshold, r.orders)
	d := &Drawn{
		Version: Version, Seed: seed, Plan: p,
		Scope: s.scope, Threshold: r.threshold, Acceptance: r.acceptance, Orders: r.orders,
		Blocks: make([][]int, p.Blocks),
	}
	runs := make([]int, p.runs())
	n := p.runsPerBlock()
	for b := range d.Blocks {
		d.Blocks[b] = runs[b*n : (b+1)*n : (b+1)*n]
	}
	m := s.Sampler(NewSource(seed, streamOrder))
	m.Fill(d.Blocks)
	d.Efficiency = 1 / (1 + s.whole.loss(m.flat, s.whole.scratch()))
	return d, nil
}
