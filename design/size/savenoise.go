package size

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"

	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/store"
	"fairrun/stats/verdict"
)

// ErrNoNoise says that a verdict has no noise to keep.
var ErrNoNoise = errors.New("no response has a measured noise yet")

// KeptNoise says what a record holds once the noise of a campaign is kept in it.
type KeptNoise struct {
	Campaigns int
	Warnings  []string // what a person should know of the folder the record is in, in words
	Apart     []string // in words: responses whose noise differs between campaigns by more than chance
}

// KeepNoise keeps the noise that a verdict measured in a record, which is begun where there is none; what it
// had of the same campaign before (of the same title and seed) is replaced, what it has of others stays.
func KeepNoise(path string, v *verdict.Verdict, seed *uint64) (*KeptNoise, error) {
	m := MeasuredNoise(v, seed)
	if len(m.Responses) == 0 {
		return nil, ErrNoNoise
	}
	n, warnings, err := keep(path, m)
	if err != nil {
		return nil, err
	}
	out := &KeptNoise{Campaigns: len(n.Campaigns), Warnings: warnings}
	for i := range v.Responses {
		r := responseOf(&v.Responses[i])
		if kept := recordedNoise(n, &r); kept.apart != "" {
			out.Apart = append(out.Apart, r.Name+": "+kept.apart)
		}
	}
	return out, nil
}

// maxNoiseBytes bounds a noise record.
const maxNoiseBytes = 1 << 20

// keep keeps the noise of a campaign in the record at path. Whoever keeps another one there at the same
// time waits.
func keep(path string, m plan.MeasuredCampaign) (n *plan.NoiseRecord, warnings []string, err error) {
	target, err := store.Target(path)
	if err != nil {
		return nil, nil, err
	}
	folder, err := store.Lock(filepath.Dir(target))
	if err != nil {
		return nil, nil, err
	}
	defer folder.Release()
	old := store.Read(filepath.Dir(target), maxNoiseBytes, filepath.Base(target))[0]
	absent := errors.Is(old.Err, fs.ErrNotExist)
	if old.Err != nil && !absent {
		return nil, nil, fmt.Errorf("%s is left as it is: %w", path, old.Err)
	}
	text, n, err := plan.KeepNoise(path, old.Data, m)
	if err != nil {
		return nil, nil, fmt.Errorf("%s is left as it is: %w", path, err)
	}
	err = folder.Replace(store.Change{Path: path, Old: old.Data, Absent: absent, Data: text})
	return n, folder.Warnings, err
}

// responseOf is what a plan would say of a response that was judged, as far as the terms of its
// noise go.
func responseOf(r *verdict.Response) design.Response {
	out := design.Response{Name: r.Name, Unit: r.Unit, Scale: string(r.Scale)}
	if r.Margin != nil {
		out.Margin = design.Amount{Set: true, Value: r.Margin.Value, Relative: r.Margin.Relative}
	}
	return out
}

// LacksNoise says whether a campaign is done and has measured noise that the record of its rig does not
// have yet. A record that cannot be read lacks nothing that could be kept in it.
func LacksNoise(v *verdict.Verdict, s *sheet.Sheet) bool {
	for i := range s.Runs {
		if s.Runs[i].Status == sheet.ToDo {
			return false
		}
	}
	m := MeasuredNoise(v, &s.Draw.Order.Seed)
	n, err := plan.Kept(s.Campaign.Rig)
	return err == nil && len(m.Responses) > 0 && (n == nil || !n.Holds(m))
}

// MeasuredNoise is the noise that the verdict on a campaign measured, to plan the next campaign on the
// same rig from: of each response the run-to-run standard deviation, and what else scatters. On the log
// scale with sd s it is the relative standard deviation of the lognormal law, √(exp(s²) − 1). Responses
// without a measured noise are left out. seed is that of the draw, nil without one.
func MeasuredNoise(v *verdict.Verdict, seed *uint64) plan.MeasuredCampaign {
	n := plan.MeasuredCampaign{Title: v.Campaign.Title, Scope: v.Campaign.Scope, Seed: seed}
	for i := range v.Responses {
		r := &v.Responses[i]
		if !(r.Noise.SD > 0) || !(r.Noise.DF > 0) {
			continue
		}
		unit := 1.0
		m := plan.MeasuredNoise{Name: r.Name, Unit: r.Unit, DF: float64(r.Noise.DF), Mean: level(r)}
		switch {
		case r.Scale == verdict.Log:
			m.Relative = true
		case r.Margin != nil && r.Margin.Relative:
			m.Relative, unit = true, m.Mean
		}
		in := func(sd verdict.Number) float64 {
			s := float64(sd)
			switch {
			case !sd.Known() || math.IsInf(s, 0):
				return 0
			case r.Scale == verdict.Log:
				return float64(terms{log: true}.noise(s))
			}
			return s / unit
		}
		m.SD, m.Low, m.High = in(r.Noise.SD), in(r.Noise.Low), in(r.Noise.High)
		for _, part := range r.Noise.Components {
			if sd, _ := componentSD(r, part.Name); part.Name != runPart {
				m.Components = append(m.Components, plan.NoiseComponent{Name: part.Name, SD: in(sd)})
			}
		}
		n.Responses = append(n.Responses, m)
	}
	return n
}
