package size

import "fairrun/stats/verdict"

// runPart is the part of the noise that is from run to run.
const runPart = "run"

// componentSD is the standard deviation of a part of the noise: as the comparisons are judged by it, or
// else as a part of the noise between runs that share nothing.
func componentSD(r *verdict.Response, name string) (sd verdict.Number, known bool) {
	for _, d := range r.Noise.Differences {
		for _, p := range d.Parts {
			if p.Name == name && p.SD.Known() {
				return p.SD, true
			}
		}
	}
	for _, c := range r.Noise.Components {
		if c.Name == name && c.SD.Known() {
			return c.SD, true
		}
	}
	return verdict.Unknown, false
}
