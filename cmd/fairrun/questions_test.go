package main

import (
	"bufio"
	"errors"
	"slices"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"
)

// asked answers the questions line by line.
func asked(lines ...string) (a plan.Answers, out string, err error) {
	var b strings.Builder
	q := &questions{in: bufio.NewScanner(strings.NewReader(strings.Join(append(lines, ""), "\n"))), out: &b}
	a = plan.Answers{Drift: design.Drift{Model: design.DriftLinear}}
	err = q.ask(&a)
	return a, b.String(), err
}

func TestQuestions(t *testing.T) {
	a, _, err := asked("pod no. 3", "prop = small, large", "small", "", "session", "3", "2", "spin_up [ms] lower 2%", "1.5%", "", "Props")
	if err != nil {
		t.Fatal(err)
	}
	if a.Title != "Props" || a.Scope != "pod no. 3" || a.Block.Name != "session" || a.Block.Count != 3 || a.Block.Replicates != 2 {
		t.Errorf("answers are %+v", a)
	}
	if len(a.Factors) != 1 || a.Factors[0].Baseline != "small" || !slices.Equal(a.Factors[0].Levels, []string{"small", "large"}) {
		t.Errorf("factors are %+v", a.Factors)
	}
	if want := (plan.ResponseAnswer{Name: "spin_up", Unit: "ms", Better: "lower", Margin: "2%", Noise: "1.5%"}); len(a.Responses) != 1 || a.Responses[0] != want {
		t.Errorf("responses are %+v, want %+v", a.Responses, want)
	}
}

func TestQuestionsTakeTheUsual(t *testing.T) {
	a, _, err := asked("pod no. 3", "prop = small, large", "", "", "", "", "", "spin_up [ms] lower 2%", "", "", "")
	if err != nil {
		t.Fatal(err)
	}
	if a.Title != "spin_up by prop" || a.Block != (design.Block{Name: "pack", Count: 4, Replicates: 2}) || a.Factors[0].Baseline != "" || a.Responses[0].Noise != "" {
		t.Errorf("answers are %+v", a)
	}
	if _, err := plan.Starter(a); err != nil {
		t.Errorf("they make no plan: %v", err)
	}
}

// Each answer that makes no plan is asked for again, and none before it is lost.
func TestQuestionsAskAgain(t *testing.T) {
	a, out, err := asked("", "pod no. 3",
		"prop", "prop = small", "prop = small, large, small", "prop = small, large", "medium", "small", "prop = 1, 2", "",
		"", "none", "0", "2", "", "spin_up ms", "spin_up [ms] lower some", "spin_up [ms] lower 2%", "3", "1.5%", "spin_up [s] higher", "", "")
	if err != nil {
		t.Fatalf("%v after\n%s", err, out)
	}
	for _, want := range []string{"a few words", "'NAME [UNIT] = LEVEL, LEVEL'", "at least 2 levels", "small stands twice", "no level of prop",
		"a whole number from 1", "lower|higher", `"some"`, "one is a percentage and the other is not"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("nothing says %q in\n%s", want, out)
		}
	}
	if len(a.Factors) != 1 || len(a.Responses) != 1 || a.Responses[0].Noise != "1.5%" || a.Block.Count != 2 {
		t.Errorf("answers are %+v", a)
	}
}

func TestQuestionsUnanswered(t *testing.T) {
	for _, lines := range [][]string{nil, {"pod no. 3"}, {"pod no. 3", "prop = small, large", "small", ""}} {
		if _, _, err := asked(lines...); !errors.Is(err, errUnanswered) {
			t.Errorf("after %q the error is %v", lines, err)
		}
	}
}
