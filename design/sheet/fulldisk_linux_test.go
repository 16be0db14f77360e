package sheet

import (
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
)

// fullDiskVariable makes the test binary's test record with files limited to fewer
// bytes than the sheet has.
const fullDiskVariable = "SHEET_TEST_FULL_DISK"

// A disk that is full leaves the sheet as it was, and no part of a new one.
func TestRecordOnAFullDisk(t *testing.T) {
	if os.Getenv(fullDiskVariable) != "" {
		signal.Ignore(syscall.SIGXFSZ)
		err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 100, Max: 100})
		if err != nil {
			t.Fatal(err)
		}
		_, err = Record(".", 1, values("spin_up=300"), false, recordedAt)
		if err == nil || !strings.HasPrefix(err.Error(), "runsheet.csv was left as it is: ") {
			t.Fatalf("error %v, want one that the sheet was left as it is", err)
		}
		return
	}
	drawnCampaign(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command(self, "-test.run=^TestRecordOnAFullDisk$")
	command.Env = append(os.Environ(), fullDiskVariable+"=1")
	out, err := command.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if read(t, File) != writtenSheet {
		t.Error("the sheet was changed")
	}
	onlyCampaignFiles(t)
}
