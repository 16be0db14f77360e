package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"fairrun/design"
)

// questions asks a person at a terminal. An empty answer takes what stands in
// brackets.
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

// text asks for a text.
func (q *questions) text(question, usual string) (string, error) {
	if usual != "" {
		question += " [" + usual + "]"
	}
	fmt.Fprintf(q.out, "%s: ", question)
	if !q.in.Scan() {
		fmt.Fprintln(q.out)
		return "", errUnanswered
	}
	if a := strings.TrimSpace(q.in.Text()); a != "" {
		return a, nil
	}
	return usual, nil
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
		fmt.Fprintf(q.out, "  %v\n", err)
	}
}

// number asks for a whole number from 1.
func (q *questions) number(question string, usual int, n *int) error {
	return q.must(question, strconv.Itoa(usual), func(a string) (err error) {
		if *n, err = strconv.Atoi(a); err != nil || *n < 1 {
			return errors.New("a whole number from 1, please")
		}
		return nil
	})
}

// ask fills in the answers.
func (q *questions) ask(a *design.Answers) error {
	var err error
	if a.Title, err = q.text("What is the campaign about", "my campaign"); err != nil {
		return err
	}
	if a.Scope, err = q.text("What exactly is tested (the verdict speaks of this only)", ""); err != nil {
		return err
	}
	if err := q.factors(a); err != nil {
		return err
	}
	if a.Block.Name, err = q.text("What cannot last, so that runs are compared within it", "pack"); err != nil {
		return err
	}
	if err := q.number("How many of them", 4, &a.Block.Count); err != nil {
		return err
	}
	if err := q.number("Runs of each treatment in each", 2, &a.Block.Replicates); err != nil {
		return err
	}
	return q.responses(a)
}

func (q *questions) factors(a *design.Answers) error {
	for question := "What do you set? NAME [UNIT] = LEVEL, LEVEL"; ; question = "Another factor (empty: no)" {
		var f design.FactorAnswer
		err := q.must(question, "", func(text string) (err error) {
			if text == "" && len(a.Factors) > 0 {
				return nil
			}
			f, err = parseFactor(text)
			return err
		})
		if err != nil || f.Name == "" {
			return err
		}
		if f.Baseline, err = q.text("  its baseline (empty: none)", ""); err != nil {
			return err
		}
		a.Factors = append(a.Factors, f)
	}
}

func (q *questions) responses(a *design.Answers) error {
	for question := "What do you measure? NAME [UNIT] lower|higher MARGIN, e.g. spin_up [ms] lower 2%"; ; question = "Another response (empty: no)" {
		var r design.ResponseAnswer
		err := q.must(question, "", func(text string) (err error) {
			if text == "" && len(a.Responses) > 0 {
				return nil
			}
			r, err = parseResponse(text)
			return err
		})
		if err != nil || r.Name == "" {
			return err
		}
		if r.Noise, err = q.text("  its noise from run to run, a guess is fine (empty: unknown)", ""); err != nil {
			return err
		}
		a.Responses = append(a.Responses, r)
	}
}
