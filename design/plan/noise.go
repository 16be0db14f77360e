package plan

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
)

// NoiseFile is what a noise record is called unless another is named.
const NoiseFile = "noise.toml"

// NoiseRecord is how much a bench was measured to scatter, campaign by campaign, kept with the rig for
// the plans to come.
type NoiseRecord struct {
	Campaigns []MeasuredCampaign `toml:"campaign"`
}

// MeasuredCampaign is the noise that one campaign measured. Its title and its seed tell it from others.
type MeasuredCampaign struct {
	Title     string          `toml:"title,omitempty"`
	Scope     string          `toml:"scope,omitempty"` // what was tested
	Seed      *uint64         `toml:"seed,omitempty"`  // of its draw; nil for results without a plan
	Responses []MeasuredNoise `toml:"response"`
}

// same reports whether two campaigns are one and the same.
func (m *MeasuredCampaign) same(o *MeasuredCampaign) bool {
	seeds := m.Seed == nil && o.Seed == nil || m.Seed != nil && o.Seed != nil && *m.Seed == *o.Seed
	return m.Title == o.Title && seeds
}

// Holds reports whether the record has the noise of a campaign, in whatever state that was kept.
func (n *NoiseRecord) Holds(m MeasuredCampaign) bool {
	return slices.ContainsFunc(n.Campaigns, func(o MeasuredCampaign) bool { return o.same(&m) })
}

// Keep adds the noise of a campaign, in the place of what was kept of it before.
func (n *NoiseRecord) Keep(m MeasuredCampaign) {
	n.Campaigns = append(slices.DeleteFunc(n.Campaigns, func(o MeasuredCampaign) bool { return o.same(&m) }), m)
}

// MeasuredNoise is the run-to-run standard deviation of one response, with what is known of it.
type MeasuredNoise struct {
	Name       string           `toml:"name"`
	Unit       string           `toml:"unit,omitempty"`
	Relative   bool             `toml:"relative,omitempty"` // SD, its limits and the components are shares of the mean
	Mean       float64          `toml:"mean,omitempty"`     // that SD was measured at, in the unit
	SD         float64          `toml:"sd"`
	Low        float64          `toml:"sd_low,omitempty"`  // limits of SD with confidence 0.95
	High       float64          `toml:"sd_high,omitempty"` // 0: the data set no bound
	DF         float64          `toml:"df"`
	Components []NoiseComponent `toml:"components,omitempty"` // what else scatters: packs, specimens, whole plots
}

// NoiseComponent is the standard deviation between packs, specimens or the like, in the terms of SD.
type NoiseComponent struct {
	Name string  `toml:"name"`
	SD   float64 `toml:"sd"`
}

// ReadNoise reads and checks a noise record. Its faults come joined, each a *fault.Fault; see fault.In.
func ReadNoise(path string) (*NoiseRecord, error) {
	data, err := readFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no noise record %s; \"fairrun verdict --save-noise\" of a campaign on the rig writes one: %w", path, os.ErrNotExist)
	}
	if err != nil {
		return nil, err
	}
	return ParseNoise(path, data)
}

// ParseNoise reads and checks a noise record; name is what its faults call the file.
func ParseNoise(name string, data []byte) (*NoiseRecord, error) {
	l, _, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, whole := parseDocument(l)
	if !whole {
		return nil, l.err()
	}
	s := l.section(root, noiseHead)
	n := &NoiseRecord{}
	if root.byKey["campaign"] == nil {
		s.missing("[[campaign]]", `is this a file that "fairrun verdict --save-noise" wrote?`)
	}
	for _, t := range s.subs("campaign") {
		m := l.measuredCampaign(t)
		if n.Holds(m) {
			l.add(t.at, fmt.Sprintf("the campaign %q stands twice with this seed", m.Title), "keep one of them")
		}
		n.Campaigns = append(n.Campaigns, m)
	}
	if err := l.err(); err != nil {
		return nil, err
	}
	return n, nil
}

func (l *ledger) measuredCampaign(t *table) MeasuredCampaign {
	s := l.section(t, "[[campaign]]")
	var m MeasuredCampaign
	m.Title, _, _ = s.text("title")
	m.Scope, _, _ = s.text("scope")
	m.Seed = s.seed()
	if t.byKey["response"] == nil {
		s.missing("[[campaign.response]]", "take the campaign out, or keep its noise again")
	}
	for _, t := range s.subs("response") {
		r := l.section(t, "[[campaign.response]]").measuredNoise()
		for _, other := range m.Responses {
			if r.Name != "" && r.Name == other.Name {
				l.add(t.byKey["name"].value.at, fmt.Sprintf("the response %q stands twice", r.Name), "keep one of them")
			}
		}
		m.Responses = append(m.Responses, r)
	}
	return m
}

func (s section) measuredNoise() MeasuredNoise {
	var m MeasuredNoise
	var found bool
	if m.Name, found, _ = s.text("name"); !found {
		s.missing("name", "name the response")
	}
	if _, given := s.table.byKey["unit"]; given {
		m.Unit, _ = s.unit("unit")
	}
	m.Relative, _, _ = s.truth("relative")
	m.Mean, _, _ = s.number("mean")
	m.SD = s.above("sd", true)
	m.Low, m.High = s.above("sd_low", false), s.above("sd_high", false)
	m.DF = s.above("df", true)
	if m.SD > 0 && (m.Low > m.SD || m.High > 0 && m.High < m.SD) {
		s.add(s.table.byKey["sd"].value.at, "sd is outside its limits", "measure the noise again, or take sd_low and sd_high out")
	}
	for _, t := range s.subs("components") {
		p := s.section(t, "components")
		var component NoiseComponent
		if component.Name, found, _ = p.text("name"); !found {
			p.missing("name", "name what differs")
		}
		component.SD, found, _ = p.number("sd")
		switch {
		case !found:
			p.missing("sd", "add its standard deviation")
		case component.SD < 0:
			p.add(t.byKey["sd"].value.at, fmt.Sprintf("sd is %v", component.SD), "write 0 or more")
		}
		m.Components = append(m.Components, component)
	}
	return m
}

// above returns the number above zero under a key, which must be there if needed.
func (s section) above(key string, needed bool) float64 {
	x, found, ok := s.number(key)
	switch {
	case !found && needed:
		s.missing(key, "measure the noise again")
	case found && ok && !(x > 0):
		s.add(s.table.byKey[key].value.at, fmt.Sprintf("%s is %v; it must be above zero", key, x), "measure the noise again")
	}
	return x
}

// Text is the record as a file.
func (n *NoiseRecord) Text() []byte {
	var w starter
	w.notes(`Noise that a bench was measured to have, kept by "fairrun verdict --save-noise", an entry a campaign.`,
		`A plan that names this file under [rig] is planned from all of them, weighted by degrees of freedom; take out`,
		`the entries that do not hold any more. Relative numbers are shares of the mean.`)
	for _, m := range n.Campaigns {
		w.campaign(m)
	}
	return []byte(w.String())
}

func (w *starter) campaign(m MeasuredCampaign) {
	w.open("[[campaign]]", false)
	if m.Title != "" {
		w.key("title", quoted(m.Title))
	}
	if m.Scope != "" {
		w.key("scope", quoted(m.Scope))
	}
	if m.Seed != nil {
		w.key("seed", strconv.FormatUint(*m.Seed, 10))
	}
	for _, r := range m.Responses {
		w.measured(r)
	}
}

func (w *starter) measured(m MeasuredNoise) {
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	w.open("[[campaign.response]]", false)
	w.key("name", quoted(m.Name))
	if m.Unit != "" {
		w.key("unit", quoted(m.Unit))
	}
	w.key("relative", strconv.FormatBool(m.Relative))
	if !math.IsNaN(m.Mean) && !math.IsInf(m.Mean, 0) {
		w.key("mean", number(m.Mean))
	}
	w.key("sd", number(m.SD))
	if m.Low > 0 {
		w.key("sd_low", number(m.Low))
	}
	if m.High > 0 {
		w.key("sd_high", number(m.High))
	}
	w.key("df", number(m.DF))
	var components []string
	for _, p := range m.Components {
		components = append(components, fmt.Sprintf("{name = %s, sd = %s}", quoted(p.Name), number(p.SD)))
	}
	if components != nil {
		w.line("components = ["+strings.Join(components, ", ")+"]", "")
	}
}
