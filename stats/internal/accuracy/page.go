package accuracy

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/gofrs/flock"
)

// update is the environment variable that has the sections written. A flag
// would not do: go test ./... hands it to packages that do not know it.
const update = "UPDATE_ACCURACY"

// slack is how many digits less than the page says another platform may reach.
const slack = 0.3

// Check compares the section with the page docs/accuracy.md of the module, or
// writes it there when asked to.
func (s *Section) Check(t testing.TB) {
	t.Helper()
	page, err := find()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range s.lines {
		t.Logf("%s", l.row())
	}
	if os.Getenv(update) != "" {
		if err := s.write(page); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range s.faults(string(text)) {
		t.Errorf("docs/accuracy.md, section %s: %s", s.Package, fault)
	}
}

// find looks for the page from the test's folder upwards.
func find() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, "docs", "accuracy.md"), nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", fmt.Errorf("accuracy: no go.mod above the test's folder")
		}
		dir = up
	}
}

func (s *Section) opening() string { return "<!-- " + s.Package + " -->\n" }
func (s *Section) closing() string { return "<!-- end of " + s.Package + " -->\n" }

// cut splits the page around the section's table.
func (s *Section) cut(page string) (before, table, after string, ok bool) {
	page = strings.ReplaceAll(page, "\r\n", "\n")
	before, rest, ok := strings.Cut(page, s.opening())
	if !ok {
		return page, "", "", false
	}
	table, after, ok = strings.Cut(rest, s.closing())
	return before + s.opening(), table, s.closing() + after, ok
}

// write puts the section's table into the page, which other packages' tests
// may be writing at the same time.
func (s *Section) write(page string) error {
	lock := flock.New(filepath.Join(os.TempDir(), "fairrun-accuracy.lock"))
	if err := lock.Lock(); err != nil {
		return err
	}
	defer lock.Unlock()
	text, err := os.ReadFile(page)
	if err != nil {
		return err
	}
	before, _, after, ok := s.cut(string(text))
	if !ok {
		return fmt.Errorf("accuracy: the page has no place for %s: add the lines %q and %q", s.Package, s.opening(), s.closing())
	}
	return os.WriteFile(page, []byte(before+s.table()+after), 0o666)
}

// faults lists what the page says wrongly of the section.
func (s *Section) faults(page string) []string {
	_, table, _, ok := s.cut(page)
	if !ok {
		return []string{"not there"}
	}
	stated := map[string]string{} // quantity and place to the rest of the row
	for _, row := range strings.Split(strings.TrimPrefix(table, head), "\n") {
		if cells := strings.Split(row, " | "); len(cells) == 5 {
			stated[key(cells[0][2:], cells[1])] = row
		}
	}
	var out []string
	for _, l := range s.lines {
		k := key(l.Quantity, l.Where)
		row, ok := stated[k]
		delete(stated, k)
		cells := strings.Split(row, " | ")
		switch {
		case !ok:
			out = append(out, fmt.Sprintf("a line is missing: %s", l.row()))
		case cells[2] != strconv.Itoa(l.points) || cells[4] != l.Reference+" |":
			out = append(out, fmt.Sprintf("%s, should be %s", row, l.row()))
		default:
			if digits, err := strconv.ParseFloat(cells[3], 64); err != nil || !(l.reached() >= digits-slack) {
				out = append(out, fmt.Sprintf("%s: only %.2f digits are reached", row, l.reached()))
			}
		}
	}
	for _, row := range stated {
		out = append(out, fmt.Sprintf("no longer measured: %s", row))
	}
	if len(out) > 0 {
		out = append(out, "if the numbers are meant to be so, write the page again: "+update+"=1 go test ./stats/... -run Accuracy")
	}
	return out
}

func key(quantity, where string) string { return quantity + "\x00" + where }
