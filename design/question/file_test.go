package question

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/stats/verdict"
)

func judge(t *testing.T, q File, text string) *verdict.Response {
	t.Helper()
	v, err := q.Judge(t.Context(), "x.csv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return &v.Responses[0]
}

func TestStatusOfAFile(t *testing.T) {
	tests := []struct {
		name   string
		in     string
		runs   verdict.Runs
		failed map[string]int
		remark string
	}{
		{"a run sheet", "t,y,status\na,1,ok\na,2,ok\nb,3,\nb,9,failed\nb,,failed\na,7,void\nb,,\nb,4,ok\n",
			verdict.Runs{OK: 4, Failed: 2, Void: 1, Todo: 1}, map[string]int{"a": 0, "b": 2}, ""},
		{"capitals", "t,y,status\na,1,OK\na,2,Ok\nb,3,ok\nb,,Failed\n",
			verdict.Runs{OK: 3, Failed: 1}, map[string]int{"a": 0, "b": 1}, ""},
		{"no such column", "t,y\na,1\na,2\nb,3\nb,\n", verdict.Runs{OK: 3, Todo: 1}, nil, ""},
		{"about something else", "t,y,status\na,1,married\na,2,single\nb,3,\nb,4,single\n", verdict.Runs{OK: 4}, nil, ""},
		{"some words that are not those of a sheet", "t,y,status\na,1,ok\na,2,failed\nb,3,done\nb,4,ok\n", verdict.Runs{OK: 4}, nil, `"done"`},
		{"all to do", "t,y,status\na,,\nb,,\n", verdict.Runs{Todo: 2}, nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judge(t, File{Responses: []string{"y"}, Treatments: []string{"t"}}, tt.in)
			if r.Runs != tt.runs {
				t.Errorf("runs = %+v, want %+v", r.Runs, tt.runs)
			}
			for _, f := range r.Failures {
				if f.Failed != tt.failed[f.Level] {
					t.Errorf("%s failed %d times, want %d", f.Level, f.Failed, tt.failed[f.Level])
				}
			}
			k := slices.IndexFunc(r.Checks, func(c verdict.Check) bool { return c.Name == "status" })
			if (k >= 0) != (tt.remark != "") || k >= 0 && !strings.Contains(r.Checks[k].Message, tt.remark) {
				t.Errorf("remark %d of %+v, want one with %q", k, r.Checks, tt.remark)
			}
		})
	}
}

func TestStatusWithARole(t *testing.T) {
	r := judge(t, File{Responses: []string{"y"}, Treatments: []string{"status"}}, "y,status\n1,ok\n2,ok\n4,failed\n3,failed\n")
	if want := (verdict.Runs{OK: 4}); r.Runs != want {
		t.Errorf("runs = %+v, want %+v: the column is what is compared", r.Runs, want)
	}
}

// A failed run's value is no response: it must move no number.
func TestFailedRunsMoveNoNumber(t *testing.T) {
	q := File{Responses: []string{"y"}, Treatments: []string{"t"}, Margin: &verdict.Margin{Value: 0.02, Relative: true}}
	with := judge(t, q, "t,y,status\na,1e9,void\na,1,ok\na,2,ok\nb,3,ok\nb,4,ok\nb,0,failed\n")
	without := judge(t, q, "t,y,status\na,1,ok\na,2,ok\nb,3,ok\nb,4,ok\n")
	if diff := cmp.Diff(without.Comparisons, with.Comparisons, cmp.Comparer(same)); diff != "" || with.Noise.SD != without.Noise.SD {
		t.Errorf("noise %v and %v; comparisons without failed and void runs, and with them:\n%s", without.Noise.SD, with.Noise.SD, diff)
	}
}

// same says whether two numbers are the same, both unknown included.
func same(a, b verdict.Number) bool { return a == b || a != a && b != b }

func TestColumnsWithTwoRoles(t *testing.T) {
	tests := []struct {
		q    File
		want string
	}{
		{File{Responses: []string{"y"}, Treatments: []string{"y"}}, `column "y" is named as response and as factor`},
		{File{Responses: []string{"y", "y"}, Treatments: []string{"t"}}, `column "y" is named twice as response`},
		{File{Responses: []string{"y"}, Treatments: []string{"t"}, Blocks: []string{"b"}, Covariates: []string{"b"}}, `column "b" is named as block and as covariate`},
	}
	for _, tt := range tests {
		if _, err := tt.q.Judge(t.Context(), "x.csv", strings.NewReader("")); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("error %v, want %q", err, tt.want)
		}
	}
}
