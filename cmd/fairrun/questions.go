package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/plan"
)

// questions asks a person at a terminal. An empty answer takes what stands in
// brackets after "Enter".
type questions struct {
	in  *bufio.Scanner
	out io.Writer
}

// questionnaire is there only when both ends are a terminal.
func questionnaire(std streams) (*questions, bool) {
	_, in := terminal(std.In)
	_, out := terminal(std.Err)
	return &questions{in: bufio.NewScanner(std.In), out: std.Err}, in && out
}

var errUnanswered = errors.New("the questions were not answered; nothing is written")

// text asks for a text; usual is what an empty answer means.
func (q *questions) text(question, usual string) (string, error) {
	if usual != "" {
		question += " (Enter: " + usual + ")"
	}
	if strings.HasSuffix(question, "\n") {
		question += "  >"
	} else {
		question += ":"
	}
	fmt.Fprintf(q.out, "%s ", question)
	if !q.in.Scan() {
		fmt.Fprintln(q.out)
		return "", errUnanswered
	}
	return strings.TrimSpace(q.in.Text()), nil
}

// must asks until parse accepts the answer.
func (q *questions) must(question, usual string, parse func(string) error) error {
	for {
		a, err := q.text(question, usual)
		if err != nil {
			return err
		}
		if err = parse(a); err == nil {
			return nil
		}
		fmt.Fprint(q.out, styleOf(q.out).Paragraph("  "+err.Error()))
	}
}

// number asks for a whole number from 1, which goes to n, with which a has to
// be a possible plan.
func (q *questions) number(question string, usual int, n *int, a *plan.Answers) error {
	return q.must(question, strconv.Itoa(usual), func(text string) (err error) {
		if text == "" {
			text = strconv.Itoa(usual)
		}
		if *n, err = strconv.Atoi(text); err != nil || *n < 1 {
			return errors.New("a whole number from 1, please")
		}
		return possible(*a)
	})
}

// ask fills in the answers. Each is checked when it is given, so that none of
// those before it is lost.
func (q *questions) ask(a *plan.Answers) error {
	err := q.must("What exactly is tested? Verdicts speak of this only.\n  e.g. pod thruster no. 3\n", "", func(text string) error {
		if a.Scope = text; text == "" {
			return errors.New("a few words, please")
		}
		return possible(*a)
	})
	if err != nil {
		return err
	}
	if err := q.factors(a); err != nil {
		return err
	}
	if err := q.block(a); err != nil {
		return err
	}
	if err := q.responses(a); err != nil {
		return err
	}
	return q.must("What is the title", usualTitle(*a), func(text string) error {
		if a.Title = text; text == "" {
			a.Title = usualTitle(*a)
		}
		return possible(*a)
	})
}

func (q *questions) factors(a *plan.Answers) error {
	for question := "What do you set, and to what?\n  e.g. weakening [A] = 0, 4, 8, 12\n"; ; question = "Another one (Enter: no)" {
		var f plan.FactorAnswer
		err := q.must(question, "", func(text string) (err error) {
			if f = (plan.FactorAnswer{}); text == "" && len(a.Factors) > 0 {
				return nil
			}
			if f, err = parseFactor(text); err == nil {
				err = possible(withFactor(*a, f))
			}
			return err
		})
		if err != nil || f.Name == "" {
			return err
		}
		err = q.must("  which of them is the baseline", "none", func(text string) error {
			f.Baseline = text
			return possible(withFactor(*a, f))
		})
		if err != nil {
			return err
		}
		*a = withFactor(*a, f)
	}
}

func (q *questions) block(a *plan.Answers) error {
	err := q.must("What cannot last, so that runs are compared within it", "pack", func(text string) error {
		if a.Block.Name = text; text == "" {
			a.Block.Name = "pack"
		}
		return possible(*a)
	})
	if err != nil {
		return err
	}
	if err := q.number("  how many of them", 4, &a.Block.Count, a); err != nil {
		return err
	}
	return q.number("  runs of each setting in each", 2, &a.Block.Replicates, a)
}

func (q *questions) responses(a *plan.Answers) error {
	for question := "What do you measure, which way is better, what difference would matter?\n  e.g. spin_up [ms] lower 2%, or bollard_pull [N] higher 5\n"; ; question = "Another one (Enter: no)" {
		var r plan.ResponseAnswer
		err := q.must(question, "", func(text string) (err error) {
			if r = (plan.ResponseAnswer{}); text == "" && len(a.Responses) > 0 {
				return nil
			}
			if r, err = parseResponse(text); err == nil {
				err = possible(withResponse(*a, r))
			}
			return err
		})
		if err != nil || r.Name == "" {
			return err
		}
		if r.Noise == "" {
			err = q.must("  its noise from run to run; a guess will do", "not known", func(text string) error {
				r.Noise = text
				return possible(withResponse(*a, r))
			})
			if err != nil {
				return err
			}
		}
		*a = withResponse(*a, r)
	}
}

// withFactor is a with one more factor.
func withFactor(a plan.Answers, f plan.FactorAnswer) plan.Answers {
	a.Factors = append(slices.Clip(a.Factors), f)
	return a
}

// withResponse is a with one more response.
func withResponse(a plan.Answers, r plan.ResponseAnswer) plan.Answers {
	a.Responses = append(slices.Clip(a.Responses), r)
	return a
}

// possible says what is wrong with the answers so far, whatever those that are
// still to come.
func possible(a plan.Answers) error {
	if a.Title == "" {
		a.Title = "to be asked"
	}
	if a.Block.Count == 0 {
		a.Block.Count = 4
	}
	if a.Block.Replicates == 0 {
		a.Block.Replicates = 2
	}
	if len(a.Factors) == 0 {
		a = withFactor(a, plan.FactorAnswer{Name: "to_be_asked", Levels: []string{"a", "b"}})
	}
	if len(a.Responses) == 0 {
		a = withResponse(a, plan.ResponseAnswer{Name: "to_be_measured", Better: design.BetterLower})
	}
	_, err := plan.Starter(a)
	return err
}
