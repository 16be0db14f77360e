package plan

import "bytes"

// AddLog returns the bytes of a plan with the section [log] behind its last line. Every other byte is
// kept. name is what faults call the file: a plan that has a [log] already, and one that is not TOML.
func AddLog(name string, data []byte, section string) ([]byte, error) {
	l, _, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, _ := parseDocument(l)
	if e := root.byKey["log"]; e != nil {
		l.add(e.at, "the plan has a [log] already", "change it by hand, or take it out first")
	}
	if err := l.err(); err != nil {
		return nil, err
	}
	eol := lineEnd(l.data)
	out := bytes.Clone(data)
	if !bytes.HasSuffix(out, []byte("\n")) {
		out = append(out, eol...)
	}
	out = append(out, eol...)
	return append(out, bytes.ReplaceAll([]byte(section), []byte("\n"), []byte(eol))...), nil
}
