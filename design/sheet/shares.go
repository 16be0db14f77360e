package sheet

import (
	"encoding/json"
	"fmt"
	"strings"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/stats/words"
)

// sharing is what the blocks of a plan are shared out over: each has a column of its own. Those that
// the plan does not have are nil.
type sharing struct {
	Session   *design.Session   `json:"session"`
	Items     *design.Items     `json:"items"`
	Specimens *design.Specimens `json:"specimens"`
}

func shares(c *design.Plan) sharing { return sharing{c.Session, c.Items, c.Specimens} }

// shares are those when d was drawn.
func (d *Draw) shares() sharing {
	var plan sharing
	if json.Unmarshal(d.Plan, &plan) != nil {
		return sharing{}
	}
	return plan
}

// names are the headings of the columns, in the order of the sheet.
func (s sharing) names() []string {
	var names []string
	if s.Session != nil {
		names = append(names, s.Session.Name)
	}
	if s.Items != nil {
		names = append(names, s.Items.Name)
	}
	if s.Specimens != nil {
		names = append(names, s.Specimens.Name)
	}
	return names
}

// sharesAsDrawn are the faults of a plan whose sessions, items or specimens are not those drawn.
func (s *Sheet) sharesAsDrawn(planPath string) fault.List {
	drawn, now := s.Draw.shares(), shares(s.Campaign)
	var faults fault.List
	compare := func(what, key, was, is string) {
		if was == is {
			return
		}
		faults = append(faults, fault.Fault{
			File:  planPath,
			Found: fmt.Sprintf("the %s are %s, those of the sheet %s", what, is, was),
			Do:    fmt.Sprintf("put [%s] back as it was drawn, or begin a new campaign in another folder", key),
		})
	}
	compare("sessions", "session", drawn.sessions(), now.sessions())
	compare("items", "items", drawn.items(), now.items())
	compare("specimens", "specimens", drawn.specimens(), now.specimens())
	return faults
}

// none is what there is nothing of, in words.
const none = "none"

func (s sharing) sessions() string {
	if s.Session == nil {
		return none
	}
	if s.Session.Blocks == 1 {
		return s.Session.Plural() + " of 1 block"
	}
	return fmt.Sprintf("%s of %d blocks", s.Session.Plural(), s.Session.Blocks)
}

func (s sharing) items() string {
	if s.Items == nil {
		return none
	}
	return s.Items.Plural() + " " + strings.Join(words.Quoted(s.Items.Labels), ", ")
}

func (s sharing) specimens() string {
	if s.Specimens == nil {
		return none
	}
	return s.Specimens.Many(s.Specimens.Count)
}
