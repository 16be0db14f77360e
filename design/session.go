package design

import (
	"fairrun/stats/words"
	"fmt"
	"time"
)

// Session is a stretch of work at the bench, a day or an afternoon, into which blocks are put in
// turn: the first Blocks of them lie in session 1, the next in session 2, and the last session holds
// what is left. Blocks lie inside sessions (they are nested in them).
type Session struct {
	Name   string        `json:"name"`            // "day": heads the sheet's column
	Blocks int           `json:"blocks"`          // in a session
	Hours  time.Duration `json:"hours,omitempty"` // the longest that a session may take; 0: no limit
}

// DefaultSession is what a session is called when the plan does not say.
const DefaultSession = "session"

// Of returns the number of the session that a block lies in, both from 1; 0 when the plan has no
// sessions.
func (s *Session) Of(block int) int {
	if s == nil {
		return 0
	}
	return (block-1)/s.Blocks + 1
}

// Count returns how many sessions so many blocks fill, the last one perhaps in part; 0 when the plan
// has no sessions.
func (s *Session) Count(blocks int) int {
	if s == nil {
		return 0
	}
	return s.Of(blocks)
}

// Plural returns what several sessions are called: "days".
func (s *Session) Plural() string { return words.Plural(s.Name) }

// Many returns a number of sessions in words: "1 day", "3 days".
func (s *Session) Many(n int) string { return words.Count(n, s.Name) }

func (s *Session) facts() []fact {
	return []fact{{"session", "name", s.Name}, {"session", "blocks", fmt.Sprint(s.Blocks)}, {"session", "hours", hoursLimit(s.Hours)}}
}
