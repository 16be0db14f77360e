package sheet

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/order"
)

// verify says whether the record of a draw that was read from a folder is what was drawn: the journal has
// its hash, or it is drawn again and compared.
func (d *Draw) verify(dir string, data []byte, kept *journal.Journal) error {
	hash := recordHash(data)
	if slices.ContainsFunc(kept.Entries, func(e journal.Entry) bool { return e.Record == hash }) {
		return nil
	}
	if err := d.compareAgain(); err != nil {
		return fault.List{{File: filepath.Join(dir, DrawFile), Found: err.Error(), Do: restoreDraw}}
	}
	return nil
}

// compareAgain draws again, from seed, version and plan, and says what is not as drawn. A plan that no
// reader would have let through may make the drawing panic: then it was edited too.
func (d *Draw) compareAgain() (err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("the file was edited: the plan in it cannot be drawn")
		}
	}()
	if d.Order.Version != order.Version {
		return fmt.Errorf("the file was drawn by version %d of the generator, and this fairrun has version %d", d.Order.Version, order.Version)
	}
	again, err := d.again()
	if err != nil {
		return fmt.Errorf("the file was edited: its plan cannot be drawn with its seed: %w", err)
	}
	for i := range d.Runs {
		if i < len(again.Runs) && !slices.Equal(d.Runs[i].Levels, again.Runs[i].Levels) {
			return fmt.Errorf("the file was edited: its seed %d draws %q for run %d, it has %q", d.Order.Seed, again.Runs[i].Levels, i+1, d.Runs[i].Levels)
		}
	}
	if len(again.Runs) != len(d.Runs) || again.Hash != d.Hash {
		return errors.New("the file was edited: its draws do not give its plan and runs")
	}
	was, is := generic(d.Order), generic(again.Order)
	for key := range was {
		if !alike(was[key], is[key]) {
			return fmt.Errorf("the file was edited: %q in its order is not what its seed draws", key)
		}
	}
	for key := range is {
		if _, there := was[key]; !there {
			return fmt.Errorf("the file was edited: %q is missing in its order", key)
		}
	}
	return nil
}

// again is the record that its own plan, seed and drawings give.
func (d *Draw) again() (*Draw, error) {
	last, err := d.plan()
	if err != nil {
		return nil, err
	}
	if len(d.Draws) == 0 || d.Order.Seed > design.MaxSeed {
		return nil, errors.New("it has no draws, or a seed that no plan can have")
	}
	c, err := d.plan()
	if err != nil {
		return nil, err
	}
	c.Block.Count = d.Draws[0].Blocks
	if s := c.Order.Screen; s != nil {
		s.FoldBlocks = slices.DeleteFunc(s.FoldBlocks, func(b int) bool { return b > c.Block.Count })
		if slices.ContainsFunc(d.Draws, func(w Drawing) bool { return w.FoldOver != "" }) {
			c.Chosen = c.Chosen[:len(last.Mirror())] // those behind came with the fold-over
			s.FoldOver, s.FoldBlocks = "", nil
		}
		if len(s.FoldBlocks) == 0 {
			s.FoldBlocks = nil
		}
	}
	if c.Block.Count < 1 || last.Runs() > design.MaxRuns || c.Runs() > len(d.Runs) {
		return nil, errors.New("it has other runs than its draws")
	}
	first, err := NewOrder(c, d.Order.Seed)
	if err != nil {
		return nil, err
	}
	checkShape(c, first)
	again := newDraw(c, first, d.Draws[0].Time)
	for _, w := range d.Draws[1:] {
		now, err := again.plan()
		if err != nil {
			return nil, err
		}
		if w.FoldOver == "" {
			again, err = again.extended(now, w.Blocks, w.Time)
		} else {
			again, err = again.foldedOver(now, w.FoldOver, w.Blocks, w.Time)
		}
		if err != nil {
			return nil, err
		}
	}
	return again, nil
}

// generic is an order as JSON values.
func generic(o order.Drawn) map[string]any {
	var m map[string]any
	data, err := json.Marshal(o)
	if err == nil {
		err = json.Unmarshal(data, &m)
	}
	if err != nil {
		panic("sheet: an order that is no JSON")
	}
	return m
}

// alike compares JSON values; numbers to nine digits, which computers of all kinds agree in.
func alike(a, b any) bool {
	switch a := a.(type) {
	case float64:
		b, ok := b.(float64)
		return ok && math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b))
	case []any:
		b, ok := b.([]any)
		return ok && slices.EqualFunc(a, b, alike)
	case map[string]any:
		b, ok := b.(map[string]any)
		if !ok || len(a) != len(b) {
			return false
		}
		for key := range a {
			if other, there := b[key]; !there || !alike(a[key], other) {
				return false
			}
		}
		return true
	}
	return a == b
}
