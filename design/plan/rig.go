package plan

import (
	"errors"
	"fairrun/design"
	"fmt"
	"os"
	"path/filepath"
)

// defaultRig is what a rig is called when the plan does not say.
const defaultRig = "the rig"

// rig reads [rig] of the plan in a file.
func (r *planReader) rig(t *table, plan string) *design.Rig {
	s := r.section(t, "[rig]")
	g := &design.Rig{Name: defaultRig}
	if name, found, _ := s.text("name"); found {
		g.Name = name
	}
	file, found, ok := s.text("noise_file")
	if !found {
		s.lacks("noise_file")
	}
	if g.NoiseFile = file; !ok || file == "" {
		return g
	}
	g.Path = filepath.FromSlash(file)
	if !filepath.IsAbs(g.Path) {
		g.Path = filepath.Join(filepath.Dir(plan), g.Path)
	}
	return g
}

// Kept reads the noise record. It is nil, without an error, while there is no such file: the first
// campaign on a rig has none.
func Kept(g *design.Rig) (*NoiseRecord, error) {
	n, err := ReadNoise(g.Path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	return n, err
}

// Rely reads the noise record for a plan that leans on it: one that says nothing of the noise of some
// response. The record must then be there; for a plan that states all noise it may be missing, and is nil.
func Rely(c *design.Plan) (*NoiseRecord, error) {
	if c.Rig == nil {
		return nil, nil
	}
	n, err := Kept(c.Rig)
	if n != nil || err != nil {
		return n, err
	}
	for _, r := range c.Responses {
		if !r.Noise.Set {
			return nil, fmt.Errorf("the plan leaves the noise of %q to the record of %s, and there is no file %s; mend noise_file in [rig], finish a campaign on the rig and keep its noise with \"fairrun verdict --save-noise\", or write noise = in [[response]]",
				r.Name, c.Rig.Name, c.Rig.Path)
		}
	}
	return nil, nil
}
