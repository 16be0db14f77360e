package sheet

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"fairrun/design/fault"
	"fairrun/design/journal"
)

// openElsewhere reports whether the mark of a spreadsheet program that has the sheet
// open is there: there are two common ones.
func openElsewhere(dir string) bool {
	return slices.ContainsFunc([]string{".~lock." + File + "#", "~$" + File}, func(mark string) bool {
		_, err := os.Stat(filepath.Join(dir, mark))
		return err == nil
	})
}

// conflictCopies are warnings of copies of a campaign's files that a synchronising drive made because two
// computers wrote at once: one of them may hold results that the file itself does not.
func conflictCopies(dir string) (warnings fault.List) {
	folder := dir
	if folder == "" {
		folder = "."
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		name := strings.ToLower(e.Name())
		for _, file := range []string{PlanFile, File, DrawFile, journal.File} {
			stem, end := strings.TrimSuffix(file, filepath.Ext(file)), filepath.Ext(file)
			rest, found := strings.CutPrefix(name, stem)
			if found && name != file && strings.HasSuffix(name, end) && strings.Contains(rest, "conflict") {
				warnings = append(warnings, fault.Fault{
					File:  filepath.Join(dir, e.Name()),
					Found: "this looks like the copy of " + file + " that a synchronising drive makes when two computers write at once",
					Do:    "see whether it has results that " + file + " does not have, then move it away",
				})
			}
		}
	}
	return warnings
}
