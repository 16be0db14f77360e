package measure

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/sheet"
)

var placeholder = regexp.MustCompile(`\{run(?::0([1-9]))?\}`)

// pathOf is the path that a pattern such as "logs/{run:02}.csv" gives a run.
func pathOf(pattern string, run int) string {
	return placeholder.ReplaceAllStringFunc(pattern, func(p string) string {
		width, _ := strconv.Atoi(placeholder.FindStringSubmatch(p)[1]) // none is 0
		return fmt.Sprintf("%0*d", width, run)
	})
}

// LogFile is the log of a run.
type LogFile struct {
	Run   int
	File  string // seen from the campaign's folder, with slashes
	Made  bool   // the run was made, and its log is entered even if nothing can be measured in it
	Named bool   // in the sheet, not only by the plan's pattern
}

// Sources finds the logs of the runs that can be measured: those that are neither failed nor void and
// whose log the sheet names, or whose log lies where the plan's pattern says. Faults are logs that
// two runs name.
func Sources(dir string, s *sheet.Sheet) ([]LogFile, fault.List) {
	var sources []LogFile
	for i := range s.Runs {
		r := &s.Runs[i]
		if r.Status == sheet.Failed || r.Status == sheet.Void {
			continue
		}
		if r.Log != "" {
			sources = append(sources, LogFile{Run: r.Run, File: filepath.ToSlash(r.Log), Named: true})
			continue
		}
		l := s.Campaign.Log
		if l == nil || l.Files == "" {
			continue
		}
		for _, file := range []string{pathOf(l.Files, r.Run), pathOf(l.Files, r.Run) + ".gz"} {
			if _, err := os.Lstat(filepath.Join(dir, filepath.FromSlash(file))); err == nil {
				sources = append(sources, LogFile{Run: r.Run, File: file})
				break
			}
		}
	}
	return apart(dir, s, sources)
}

// Arrived says to which run a log belongs that has just come in: to the one that names it, the one to which the
// plan's pattern gives it, or the next one in the order. ok is false where there is none.
func Arrived(s *sheet.Sheet, file string) (l LogFile, ok bool) {
	for i := range s.Runs {
		if r := &s.Runs[i]; r.Log != "" && filepath.ToSlash(filepath.Clean(r.Log)) == file {
			return LogFile{Run: r.Run, File: file, Made: true, Named: true}, true
		}
	}
	if p := s.Campaign.Log; p != nil && p.Files != "" {
		for i := range s.Runs {
			if r := &s.Runs[i]; r.Log == "" && pathOf(p.Files, r.Run) == strings.TrimSuffix(file, ".gz") {
				return LogFile{Run: r.Run, File: file, Made: true}, true
			}
		}
	}
	if next := s.Next(); next != nil {
		return LogFile{Run: next.Run, File: file, Made: true}, true
	}
	return LogFile{}, false
}

// apart takes out the runs that share a log.
func apart(dir string, s *sheet.Sheet, sources []LogFile) (own []LogFile, faults fault.List) {
	runs := map[string][]string{}
	for _, c := range sources {
		name := filepath.ToSlash(filepath.Clean(c.File))
		runs[name] = append(runs[name], strconv.Itoa(c.Run))
	}
	for _, c := range sources {
		of := runs[filepath.ToSlash(filepath.Clean(c.File))]
		if len(of) == 1 {
			own = append(own, c)
		} else if of[0] == strconv.Itoa(c.Run) {
			faults = append(faults, fault.Fault{File: filepath.Join(dir, sheet.File),
				Found: fmt.Sprintf("runs %s name the same log %q", strings.Join(of, ", "), c.File), Do: "give each run its own log"})
		}
	}
	return own, faults
}

// within is the path of a log, which must lie in the campaign's folder.
func within(dir, file string) (string, error) {
	refuse := func(found string) error {
		return fault.List{{File: file, Found: found, Do: "put the log into the campaign's folder and name it from there, such as logs/07.csv"}}
	}
	local := filepath.FromSlash(file)
	if !filepath.IsLocal(local) {
		return "", refuse("lies outside the campaign's folder")
	}
	path := filepath.Join(dir, local)
	root, err := filepath.EvalSymlinks(dir)
	if err != nil {
		return "", err
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		if rel, err := filepath.Rel(root, real); err != nil || !filepath.IsLocal(rel) {
			return "", refuse("is a link that leads out of the campaign's folder")
		}
	}
	return path, nil
}

// measures reports whether some response of a plan is measured from logs.
func measures(c *design.Plan) bool {
	for _, r := range c.Responses {
		if r.Measure != nil {
			return true
		}
	}
	return false
}
