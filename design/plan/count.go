package plan

import (
	"bytes"
	"errors"
	"fairrun/design"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// SetBlockCount returns the bytes of a plan with the number of blocks changed; every other byte is
// kept. name is what faults call the file. The changed plan is checked as Parse does.
func SetBlockCount(name string, data []byte, blocks int) ([]byte, error) {
	changed, err := withBlockCount(name, data, blocks)
	if err != nil {
		return nil, err
	}
	if _, err := Parse(name, changed); err != nil {
		return nil, err
	}
	return changed, nil
}

// withBlockCount is SetBlockCount without a look at what came out.
func withBlockCount(name string, data []byte, blocks int) ([]byte, error) {
	root, mark, err := documentOf(name, data)
	if err != nil {
		return nil, err
	}
	block := root.byKey["block"]
	if block == nil || block.value.kind != kindTable || block.value.table.byKey["count"] == nil {
		return nil, errors.New(name + ": there is no count in [block] to change")
	}
	count := block.value.table.byKey["count"]
	return splice(data, mark+count.value.at, mark+count.value.at+len(count.value.text), strconv.Itoa(blocks)), nil
}

// SetFoldOver is SetBlockCount for a plan in which some of the blocks, from 1, hold the fold-over of
// its screen: the keys fold_over and fold_over_blocks are changed, or added behind the screen's.
func SetFoldOver(name string, data []byte, blocks int, s *design.Screen) ([]byte, error) {
	changed, err := withBlockCount(name, data, blocks)
	if err != nil {
		return nil, err
	}
	var numbers []string
	for _, b := range s.FoldBlocks {
		numbers = append(numbers, strconv.Itoa(b))
	}
	after := s.Key()
	for _, key := range []struct{ name, value string }{
		{"fold_over", strconv.Quote(s.FoldOver)},
		{"fold_over_blocks", "[" + strings.Join(numbers, ", ") + "]"},
	} {
		if changed, err = setOrderKey(name, changed, key.name, key.value, after); err != nil {
			return nil, err
		}
		after = key.name
	}
	c, err := Parse(name, changed)
	if err != nil {
		return nil, err
	}
	if got := c.Order.Screen; got == nil || got.FoldOver != s.FoldOver || !slices.Equal(got.FoldBlocks, s.FoldBlocks) {
		return nil, fmt.Errorf("%s: [order] is written in a way that cannot be changed here: write it as a table of its own, each key on its line", name)
	}
	return changed, nil
}

// setOrderKey returns the bytes of a plan with a key of [order] changed to a value, or added behind
// another key, in the way that one is written.
func setOrderKey(name string, data []byte, key, value, after string) ([]byte, error) {
	root, mark, err := documentOf(name, data)
	if err != nil {
		return nil, err
	}
	order := root.byKey["order"]
	if order == nil || order.value.kind != kindTable || order.value.table.byKey[after] == nil {
		return nil, fmt.Errorf("%s: there is no %s in [order]", name, after)
	}
	t := order.value.table
	if e := t.byKey[key]; e != nil {
		return splice(data, mark+e.value.at, mark+e.end, value), nil
	}
	e := t.byKey[after]
	text := data[mark:]
	if t.origin == fromBraces {
		at := e.end
		if at == 0 { // the grammar keeps no end of what stands in braces
			at = e.value.at + len(e.value.text)
			if e.value.kind == kindText {
				at += 2
			}
		}
		return splice(data, mark+at, mark+at, ", "+key+" = "+value), nil
	}
	line := e.at // begins with what is in front of the key: blanks, and "order." where it is dotted
	for line > 0 && text[line-1] != '\n' {
		line--
	}
	eol := lineEnd(text)
	added := string(text[line:e.at]) + key + " = " + value
	end := bytes.IndexByte(text[e.end:], '\n')
	if end < 0 {
		return splice(data, len(data), len(data), eol+added), nil
	}
	at := mark + e.end + end + 1
	return splice(data, at, at, added+eol), nil
}

// documentOf returns a plan as a tree, in which offsets count from behind the byte order mark.
func documentOf(name string, data []byte) (root *table, mark int, err error) {
	l, mark, err := open(name, data)
	if err != nil {
		return nil, 0, err
	}
	root, _ = parseDocument(l)
	return root, mark, l.err()
}
