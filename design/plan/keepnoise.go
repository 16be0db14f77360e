package plan

import (
	"bytes"
	"slices"
	"strings"
)

// KeepNoise returns the bytes of a noise record with the noise of a campaign in it, and the record they
// hold: in the place of what there was of the same campaign, or else at the end. Every other byte is
// kept, and so are a person's comments in the entry that is replaced. No data begins a record. name is
// what faults call the file.
func KeepNoise(name string, data []byte, m MeasuredCampaign) ([]byte, *NoiseRecord, error) {
	if len(data) == 0 {
		n := &NoiseRecord{Campaigns: []MeasuredCampaign{m}}
		return n.Text(), n, nil
	}
	n, err := ParseNoise(name, data)
	if err != nil {
		return nil, nil, err
	}
	root, mark, err := documentOf(name, data)
	if err != nil {
		return nil, nil, err
	}
	opens, apart := opensOf(root, data[mark:])
	if !apart { // written in braces, which lines cannot tell apart
		n.Keep(m)
		return n.Text(), n, nil
	}
	text, eol := entryOf(m), lineEnd(data)
	at := slices.IndexFunc(n.Campaigns, func(o MeasuredCampaign) bool { return o.same(&m) })
	if at < 0 {
		data = slices.Concat(bytes.TrimRight(data, "\r\n\t "), []byte(strings.ReplaceAll("\n\n"+text, "\n", eol)))
	} else {
		from, to := mark+opens[at], len(data)
		if at+1 < len(opens) {
			to = mark + opens[at+1]
		}
		to = from + len(bodyOf(data[from:to]))
		lines := append(commentsOf(string(data[from:to]), entryOf(n.Campaigns[at])), text)
		data = splice(data, from, to, strings.ReplaceAll(strings.Join(lines, "\n"), "\n", eol))
	}
	n, err = ParseNoise(name, data)
	return data, n, err
}

// entryOf is the text of a campaign, with line feeds.
func entryOf(m MeasuredCampaign) string {
	var w starter
	w.campaign(m)
	return strings.TrimLeft(w.String(), "\n")
}

// opensOf are the offsets of the lines that open campaigns; apart is false if one has no such line.
func opensOf(root *table, text []byte) (at []int, apart bool) {
	for _, v := range root.byKey["campaign"].value.items {
		if v.table == nil || v.table.origin != fromHeader {
			return nil, false
		}
		at = append(at, bytes.LastIndexByte(text[:v.table.at], '\n')+1)
	}
	return at, true
}

// bodyOf is an entry without the blank lines and comments at its end, which belong to what follows.
func bodyOf(entry []byte) []byte {
	for end := len(entry); ; {
		line := bytes.LastIndexByte(entry[:max(end-1, 0)], '\n') + 1
		if t := bytes.TrimSpace(entry[line:end]); len(t) > 0 && t[0] != '#' || line == 0 {
			return entry[:end]
		}
		end = line
	}
}

// commentsOf are the comments in an entry that its generated text does not have, on lines of their own or
// behind a number.
func commentsOf(entry, generated string) (comments []string) {
	for line := range strings.Lines(entry) {
		before, comment, found := strings.Cut(strings.TrimRight(line, "\r\n"), "#")
		if found && !strings.ContainsAny(before, `"'`) && !strings.Contains(generated, "#"+comment) {
			comments = append(comments, "#"+comment)
		}
	}
	return comments
}
