package question

import (
	"strings"

	"fairrun/design/sheet"
	"fairrun/design/table"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

var statuses = map[sheet.Status]verdict.Status{
	sheet.ToDo: verdict.Todo, sheet.OK: verdict.OK, sheet.Failed: verdict.Failed, sheet.Void: verdict.Void,
}

// statusColumn is the heading under which a file of results, a run sheet above
// all, says what became of each run.
const statusColumn = "status"

// mostNamed is how many texts of a person's a message quotes.
const mostNamed = 5

// statusOf reads what became of each run from a column whose cells are empty or
// one of the words of a run sheet, in capitals or not; a run with an empty cell
// is as good as its response. A column with other words is about something else:
// the status is nil, and those words are returned if the column has words of a
// run sheet too. A nil column gives neither.
func statusOf(c *table.Category) (status []verdict.Status, others []string) {
	if c == nil || len(c.Levels) == 0 {
		return nil, nil
	}
	of := make([]verdict.Status, len(c.Levels))
	known := 0
	for i, level := range c.Levels {
		word := sheet.Status(strings.ToLower(level))
		of[i] = statuses[word]
		if of[i] == verdict.Todo {
			others = append(others, level)
		} else {
			known++
		}
	}
	switch {
	case known == 0:
		return nil, nil
	case len(others) > 0:
		return nil, others
	}
	status = make([]verdict.Status, len(c.Code))
	for i, code := range c.Code {
		if status[i] = verdict.OK; code >= 0 {
			status[i] = of[code]
		}
	}
	return status, nil
}

// unread says that a column of statuses was not read, and why.
func unread(others []string) verdict.Check {
	return verdict.Remark("status", true,
		"the column %q was not read as what became of the runs, since it holds words other than ok, failed and void: %s", statusColumn, words.List(words.Quoted(others), mostNamed))
}
