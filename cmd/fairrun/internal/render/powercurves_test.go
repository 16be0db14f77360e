package render

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// elements reads a picture as XML and counts its elements by name; text is all of its text.
func elements(t *testing.T, picture []byte) (count map[string]int, text string) {
	t.Helper()
	count = map[string]int{}
	d := xml.NewDecoder(bytes.NewReader(picture))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return count, text
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, picture)
		}
		switch token := token.(type) {
		case xml.StartElement:
			count[token.Name.Local]++
		case xml.CharData:
			text += string(token)
		}
	}
}

func TestPowerCurves(t *testing.T) {
	point := func(blocks int, power verdict.Number) size.Point {
		return size.Point{Blocks: blocks, Power: power}
	}
	needed := point(3, 0.93)
	family := size.FamilySize{Factors: verdict.Factors{`a<b>"c"`}, Levels: []string{"a", "b"}, Now: point(2, 0.7), Needed: &needed, Curve: []size.Point{point(1, 0.2), point(2, 0.7), needed, point(4, 0.99)}}
	r := &size.Replicates{Campaign: verdict.Campaign{Title: "Props & packs"}, Stage: size.Before, Block: "pack", Power: 0.9, Responses: []size.ResponseSize{
		{Name: "thrust", Unit: "N", Margin: &verdict.Margin{Value: 2}, Noise: size.RunNoise{SD: 1}, Sizes: []size.FamilySize{family, family}},
		{Name: "input", Message: "no margin is stated"},
	}}
	count, text := elements(t, PowerCurves(r))
	// Of four points on a curve one is the plan, one is enough; two more are dots.
	if count["svg"] != 1 || count["g"] != 2 || count["polyline"] != 2 || count["circle"] != 6 || count["rect"] != 3 {
		t.Errorf("elements %v", count)
	}
	for _, want := range []string{"Props & packs", `thrust, a<b>"c": chance to find a difference of 2 N, with noise of 1 N`, "90 % asked for", "enough", "as planned", "packs"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in the picture's text %q", want, text)
		}
	}
	r.Responses = r.Responses[1:]
	if _, text := elements(t, PowerCurves(r)); !strings.Contains(text, "No response has a margin and a noise") {
		t.Errorf("nothing to draw, and %q", text)
	}
}
