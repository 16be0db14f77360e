package sheet

import (
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"sync"
	"testing"

	"fairrun/design/store"
)

// recordRunVariable makes the test binary record one run of the current folder, as
// a second process.
const recordRunVariable = "SHEET_TEST_RECORD_RUN"

func TestMain(m *testing.M) {
	if run := os.Getenv(recordRunVariable); run != "" {
		os.Exit(recordOne(run))
	}
	os.Exit(m.Run())
}

func recordOne(text string) int {
	run, err := strconv.Atoi(text)
	if err == nil {
		_, err = Record(".", run, values("spin_up=30"+text), false, recordedAt)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// Goroutines and processes record at once; nothing is lost.
func TestRecordAtOnce(t *testing.T) {
	drawnCampaign(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	var group sync.WaitGroup
	for run := 1; run <= 8; run++ {
		group.Go(func() {
			command := exec.Command(self)
			command.Env = append(os.Environ(), fmt.Sprintf("%s=%d", recordRunVariable, run))
			out, err := command.CombinedOutput()
			if err != nil {
				t.Errorf("run %d: %v\n%s", run, err, out)
			}
		})
		for _, set := range [][]Assignment{values(fmt.Sprint("pull=2", run)), values(fmt.Sprint("start_temp=1", run)), values(fmt.Sprint("note=n", run))} {
			group.Go(func() {
				_, err := Record(".", run, set, false, recordedAt)
				if err != nil {
					t.Errorf("run %d: %v", run, err)
				}
			})
		}
	}
	group.Wait()
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range s.Runs {
		got := fmt.Sprint(r.Values, r.Readings, r.Note)
		want := fmt.Sprintf("[30%d 2%d] [ 1%d]n%d", r.Run, r.Run, r.Run, r.Run)
		if got != want {
			t.Errorf("run %d has %s, want %s", r.Run, got, want)
		}
	}
	onlyCampaignFiles(t)
}

// A lock file that a process left when it died stops nobody.
func TestRecordPastADeadLock(t *testing.T) {
	drawnCampaign(t)
	write(t, store.LockFile, "")
	_, err := Record(".", 1, values("spin_up=300"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	onlyCampaignFiles(t)
}
