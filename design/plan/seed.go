package plan

import (
	"bytes"
	"fmt"

	"fairrun/design"
)

// SetSeed returns the bytes of a plan with "seed = N" in it: in place of the seed it has, or as a line
// after title and scope. Every other byte is kept. name is what faults call the file.
//
// A seed above MaxSeed and a file that is not TOML are errors.
func SetSeed(name string, data []byte, seed uint64) ([]byte, error) {
	if seed > design.MaxSeed {
		return nil, fmt.Errorf("%s: the seed %d is above %d, the largest a plan can hold; choose a smaller one", name, seed, uint64(design.MaxSeed))
	}
	l, mark, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, _ := parseDocument(l)
	if err := l.err(); err != nil {
		return nil, err
	}
	number := fmt.Sprintf("%d", seed)
	if e := root.byKey["seed"]; e != nil {
		if e.end == 0 {
			l.add(e.at, "seed is a table", "write seed = "+number)
			return nil, l.err()
		}
		// A seed that is not a number is replaced whole: there is no other place for one.
		return splice(data, mark+e.value.at, mark+e.end, number), nil
	}
	at, before, eol := 0, "", lineEnd(l.data)
	for _, key := range []string{"title", "scope"} {
		e := root.byKey[key]
		if e == nil || e.end == 0 {
			continue
		}
		i := bytes.IndexByte(l.data[e.end:], '\n')
		if i < 0 {
			at, before = len(l.data), eol
			continue
		}
		at = max(at, e.end+i+1)
	}
	line := before + "seed = " + number
	if before == "" {
		line += eol
	}
	return splice(data, mark+at, mark+at, line), nil
}

// lineEnd returns what ends the first line: "\r\n" or "\n".
func lineEnd(data []byte) string {
	if i := bytes.IndexByte(data, '\n'); i > 0 && data[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// splice returns the data with the bytes from one offset to another replaced.
func splice(data []byte, from, to int, by string) []byte {
	out := make([]byte, 0, len(data)+len(by))
	out = append(out, data[:from]...)
	out = append(out, by...)
	return append(out, data[to:]...)
}
