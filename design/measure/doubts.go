package measure

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"fairrun/design/log"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// mostNamed is how many runs a sentence names.
const mostNamed = 8

// Doubts says in sentences where a sheet and the record of what was measured part: logs that have changed or are
// gone, cells that were edited, definitions that are no longer those of the plan. Nothing was
// measured: none.
func Doubts(ctx context.Context, dir string, s *sheet.Sheet) (texts []string, err error) {
	record, err := Read(dir)
	if err != nil || len(record.Runs) == 0 {
		return nil, err
	}
	var changed, gone []string
	edited, redefined := map[string][]string{}, map[string][]string{}
	w := &worker{plan: s.Campaign, dir: dir}
	for i := range record.Runs {
		r := &record.Runs[i]
		if r.Run < 1 || r.Run > len(s.Runs) || r.SHA256 == "" || s.Runs[r.Run-1].Status == sheet.Void {
			continue
		}
		number := strconv.Itoa(r.Run)
		path := filepath.Join(dir, filepath.FromSlash(r.File))
		if _, err := os.Stat(path); err != nil {
			gone = append(gone, number)
		} else if sum, err := log.Hash(ctx, path); err != nil || sum != r.SHA256 {
			changed = append(changed, number)
		}
		for k, response := range s.Campaign.Responses {
			v := r.value(response.Name)
			if v == nil {
				continue
			}
			if response.Measure == nil || v.Unit != response.Unit || v.Definition != w.definition(response.Measure) {
				redefined[response.Name] = append(redefined[response.Name], number)
			}
			if !v.stands(s.Runs[r.Run-1].Values[k]) {
				edited[response.Name] = append(edited[response.Name], number)
			}
		}
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	runs := func(of []string) string {
		return words.Agree(len(of), "run", "runs") + " " + words.List(of, mostNamed)
	}
	if changed != nil {
		texts = append(texts, fmt.Sprintf("the %s of %s changed since it was measured: \"fairrun measure\" measures it again", words.Agree(len(changed), "log", "logs"), runs(changed)))
	}
	if gone != nil {
		texts = append(texts, fmt.Sprintf("the %s of %s %s gone: what was measured cannot be checked", words.Agree(len(gone), "log", "logs"), runs(gone), words.Agree(len(gone), "is", "are")))
	}
	for _, response := range s.Campaign.Responses {
		if of := edited[response.Name]; of != nil {
			texts = append(texts, fmt.Sprintf("%s of %s is not what was measured: the cell was edited; \"fairrun measure --replace\" puts the measured value back", response.Name, runs(of)))
		}
		if of := redefined[response.Name]; of != nil {
			texts = append(texts, fmt.Sprintf("%s of %s was measured by another definition than the plan has now: \"fairrun measure\" measures it again", response.Name, runs(of)))
		}
	}
	return texts, nil
}

// value is that of a response, nil if there is none.
func (r *Run) value(response string) *Value {
	for i := range r.Values {
		if r.Values[i].Response == response {
			return &r.Values[i]
		}
	}
	return nil
}

// stands reports whether a cell holds what was measured. One that is filled in by hand where nothing could
// be measured is the person's own.
func (v *Value) stands(cell string) bool {
	if v.Value == nil {
		return true
	}
	x, err := strconv.ParseFloat(cell, 64)
	y, errText := strconv.ParseFloat(v.Text(), 64)
	return err == nil && errText == nil && math.Abs(x-y) <= 1e-12*math.Abs(y)
}

// notable is the share of the noise from which measuring is worth a word.
const notable = 0.2

// Shares says of which responses measuring makes up a notable part of the noise: the mean square of the
// standard uncertainties over the variance from run to run, on the scale of the analysis.
func Shares(dir string, v *verdict.Verdict) (texts []string, err error) {
	record, err := Read(dir)
	if err != nil {
		return nil, err
	}
	for i := range v.Responses {
		r := &v.Responses[i]
		n, sum := 0, 0.0
		for k := range record.Runs {
			m := record.Runs[k].value(r.Name)
			if m == nil || m.Value == nil || m.Uncertainty == nil {
				continue
			}
			u := *m.Uncertainty
			if r.Scale == verdict.Log {
				u /= *m.Value
			}
			n, sum = n+1, sum+u*u
		}
		sd := float64(r.Noise.SD)
		if n == 0 || !r.Noise.SD.Known() || !(sd > 0) {
			continue
		}
		if share := sum / float64(n) / (sd * sd); share >= notable {
			texts = append(texts, fmt.Sprintf("%s: about %.0f %% of the variance from run to run is the uncertainty of reading the logs: sample faster, or with less noise, before you add runs", r.Name, 100*min(share, 1)))
		}
	}
	return texts, nil
}
