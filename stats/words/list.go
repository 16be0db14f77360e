package words

import (
	"fmt"
	"strconv"
	"strings"
)

// And joins by commas and "and": "a", "a and b", "a, b and c". It is "" for none.
func And(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	last := len(items) - 1
	return strings.Join(items[:last], ", ") + " and " + items[last]
}

// List joins by commas, and of more than so many says how many it leaves out:
// "a, b, c and 4 more".
func List(items []string, most int) string {
	if len(items) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(items[:most], ", "), len(items)-most)
	}
	return strings.Join(items, ", ")
}

// Quoted returns each of some names in quotation marks. An empty name is left out.
func Quoted(names []string) []string {
	var out []string
	for _, name := range names {
		if name != "" {
			out = append(out, strconv.Quote(name))
		}
	}
	return out
}

// Numbers returns whole numbers as text, to be listed.
func Numbers(n []int) []string {
	out := make([]string, len(n))
	for i, x := range n {
		out[i] = strconv.Itoa(x)
	}
	return out
}
