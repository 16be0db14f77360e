package design

import (
	"errors"
	"strconv"
)

// SetBlockCount returns the bytes of a plan with the number of blocks changed; every other byte is
// kept. name is what faults call the file. The changed plan is checked as Parse does.
func SetBlockCount(name string, data []byte, blocks int) ([]byte, error) {
	l, mark, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, _ := parseDocument(l)
	if err := l.err(); err != nil {
		return nil, err
	}
	block := root.byKey["block"]
	if block == nil || block.value.kind != kindTable || block.value.table.byKey["count"] == nil {
		return nil, errors.New(name + ": there is no count in [block] to change")
	}
	count := block.value.table.byKey["count"]
	changed := splice(data, mark+count.value.at, mark+count.value.at+len(count.value.text), strconv.Itoa(blocks))
	if _, err := Parse(name, changed); err != nil {
		return nil, err
	}
	return changed, nil
}
