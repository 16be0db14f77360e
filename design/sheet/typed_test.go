package sheet

import (
	"fmt"
	"testing"
	"time"

	"fairrun/design/table"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// A run that is recorded as made now while another was next is reported, since a number is soon mistyped.
// One that was made before, or has a time of its own, is not. What was typed, emptied, takes it back.
func TestRecordOutOfOrder(t *testing.T) {
	for _, c := range []struct {
		run     int
		set     []Assignment
		skipped int
	}{
		{8, values("spin_up=300", "pull=20"), 7},
		{8, values("status=failed", "note=no start"), 7},
		{7, values("spin_up=300", "pull=20"), 0},
		{6, values("spin_up=300", "pull=20"), 0}, // its log tells that it was made
		{8, values("spin_up=300", "pull=20", "done_at=2026-05-09T12:00:00Z"), 0},
		{8, values("start_volts=25"), 0},
	} {
		t.Run(fmt.Sprint(c.run, c.set), func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, filledSheet)
			got, err := Record(".", c.run, c.set, false, recordedAt)
			if err != nil {
				t.Fatal(err)
			}
			skipped := 0
			if got.Skipped != nil {
				skipped = got.Skipped.Run
			}
			if skipped != c.skipped {
				t.Errorf("run %d was skipped, want %d", skipped, c.skipped)
			}
			if c.run == 6 {
				return // its log stays, and so does the status
			}
			for i := range c.set {
				c.set[i].Value = ""
			}
			if _, err := Record(".", c.run, c.set, true, recordedAt); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(filledSheet, read(t, File)); diff != "" {
				t.Errorf("taken back (-want +got):\n%s", diff)
			}
		})
	}
}

// Once a run was skipped, those that follow in turn are what is to be expected.
func TestRecordGoingOn(t *testing.T) {
	drawnCampaign(t)
	for i, c := range []struct{ run, skipped int }{{2, 1}, {3, 0}, {4, 0}, {1, 0}, {7, 5}, {8, 0}, {6, 5}, {5, 0}} {
		got, err := Record(".", c.run, values("spin_up=300", "pull=20"), false, recordedAt.Add(time.Duration(i)*time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		skipped := 0
		if got.Skipped != nil {
			skipped = got.Skipped.Run
		}
		if skipped != c.skipped {
			t.Errorf("run %d: run %d was skipped, want %d", c.run, skipped, c.skipped)
		}
	}
}

// A value far from all others is stored and asked about: a digit or a decimal mark slips easily. It takes
// three others to say so.
func TestRecordStrays(t *testing.T) {
	drawnCampaign(t)
	for i, c := range []struct {
		value, want string
	}{
		{"600", ""}, {"61", ""}, {"612.5", ""},
		{"151", ""}, // more than a quarter of the smallest, 61
		{"15.2", "runsheet.csv: row 6, column 8 \"spin_up\": spin_up is 15.2, and the 4 other runs hold 61 to 612.5; " +
			"see whether a digit or the decimal mark slipped: fairrun record 5 spin_up=… --replace; if it is right, let it stand"},
		{"2451", "runsheet.csv: row 7, column 8 \"spin_up\": spin_up is 2451, and the 5 other runs hold 15.2 to 612.5; " +
			"see whether a digit or the decimal mark slipped: fairrun record 6 spin_up=… --replace; if it is right, let it stand"},
		{"2449", ""}, // 4 · 612.5 = 2450, were it not for 2451
	} {
		got, err := Record(".", i+1, values("spin_up="+c.value, "pull=-3"), false, recordedAt)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		if len(got.Warnings) > 0 {
			text = got.Warnings.Error()
		}
		if text != c.want {
			t.Errorf("%s: warnings %q, want %q", c.value, text, c.want)
		}
	}
	// Said once: another column of the same run says nothing of it.
	got, err := Record(".", 6, values("note=right"), false, recordedAt)
	if err != nil || len(got.Warnings) > 0 {
		t.Errorf("warnings %v, %v", got.Warnings, err)
	}
}

// A value that is no ratio is stored, since it was measured, and what it does is reported at once.
func TestRecordNoRatio(t *testing.T) {
	drawnCampaign(t)
	write(t, File, filledSheet)
	got, err := Record(".", 7, values("spin_up=0", "pull=-1"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	want := "runsheet.csv: row 8, column 9 \"spin_up\": spin_up is 0, but it is compared as ratios, which need values above zero: while it stands there is no verdict on spin_up; " +
		"correct it; make the run failed if it did not do its job, void if it was spoiled; or, where such values are right, give the response an absolute margin, or scale = \"raw\", in campaign.toml"
	if len(got.Warnings) != 1 || got.Warnings.Error() != want {
		t.Errorf("warnings %q, want %q", got.Warnings, want)
	}
	if got.Run.Values[0] != "0" || got.Run.Values[1] != "-1" {
		t.Errorf("values %q", got.Run.Values)
	}
}

// Whatever is recorded of a run that is to do, as it is typed, emptying it again leaves the sheet as it
// was, byte for byte.
func TestRecordTakenBack(t *testing.T) {
	c := testPlan(t)
	draw := newDraw(c, drawn(), drawnAt)
	rapid.Check(t, func(t *rapid.T) {
		dialect := rapid.SampledFrom([]table.Dialect{{}, {Separator: ';', DecimalComma: true, Newline: "\r\n"}}).Draw(t, "dialect")
		fresh := newSheet(File, dialect, c, draw).Bytes()
		record := func(data []byte, run int, set []Assignment, replace bool) ([]byte, error) {
			doc, err := table.Parse(File, data)
			if err != nil {
				t.Fatal(err)
			}
			s := &Sheet{Campaign: c, Draw: draw}
			if faults := s.match(PlanFile, doc); len(faults) > 0 {
				t.Fatal(faults)
			}
			after, _, err := s.record(PlanFile, nil, run, set, replace, recordedAt)
			return after, err
		}
		typed := map[string][]string{
			"spin_up": {"1", "2.5 ms", "3e2", "12,5", "0"}, "Pull": {"-1", "20,25 N", "7"}, "start volts": {"25", "24.9V"},
			"note": {"no start", "warm"}, "log": {"logs/1.csv"}, "STATUS": {"ok", "Failed", "VOID"}, "done_at": {"2026-05-09 12:00"},
		}
		var set []Assignment
		for _, name := range []string{"spin_up", "Pull", "start volts", "note", "log", "STATUS", "done_at"} {
			if rapid.Bool().Draw(t, name) {
				set = append(set, Assignment{name, rapid.SampledFrom(typed[name]).Draw(t, "value of "+name)})
			}
		}
		run := rapid.IntRange(1, 8).Draw(t, "run")
		filled, err := record(fresh, run, set, false)
		if err != nil {
			return // nothing, or a failed run with a response
		}
		for i := range set {
			set[i].Value = ""
		}
		back, err := record(filled, run, set, true)
		if err != nil {
			t.Fatal(err)
		}
		// A status that came with a response goes with it, and a time that came with a status or a log.
		if diff := cmp.Diff(string(fresh), string(back)); diff != "" {
			t.Fatalf("%v taken back (-want +got):\n%s", set, diff)
		}
	})
}
