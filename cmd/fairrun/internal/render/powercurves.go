package render

import (
	"bytes"
	"fmt"
	"html"
	"math"

	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// The measures of a panel of [PowerCurves], in the units of the picture.
const (
	panelWidth  = 640
	panelHeight = 300
	plotLeft    = 64
	plotRight   = 616
	plotTop     = 52
	plotBottom  = 246
)

// PowerCurves draws the chance to find the margin against the number of blocks, a panel
// for each family of each response that has an answer, as an SVG file that needs nothing
// else: the curve with its sizes, the power asked for, the plan as it stands and what is
// enough, distinguished by shape and words as well as by colour.
func PowerCurves(r *size.Replicates) []byte {
	var panels []func(b *bytes.Buffer)
	for i := range r.Responses {
		e := &r.Responses[i]
		for k := range e.Sizes {
			if z := &e.Sizes[k]; len(z.Curve) > 0 {
				panels = append(panels, func(b *bytes.Buffer) { panel(b, r, e, z) })
			}
		}
	}
	var b bytes.Buffer
	height := max(1, len(panels)) * panelHeight
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" font-family="sans-serif" font-size="13" role="img">`+"\n", panelWidth, height, panelWidth, height)
	fmt.Fprintf(&b, "<title>%s</title>\n", html.EscapeString(r.Campaign.Title+": chance to find the margin"))
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#fff"/>`+"\n", panelWidth, height)
	if len(panels) == 0 {
		fmt.Fprintf(&b, `<text x="%d" y="%d">No response has a margin and a noise to compute with.</text>`+"\n", plotLeft, plotTop)
	}
	for k, draw := range panels {
		fmt.Fprintf(&b, `<g transform="translate(0 %d)">`+"\n", k*panelHeight)
		draw(&b)
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// panel draws one family of one response.
func panel(b *bytes.Buffer, r *size.Replicates, e *size.ResponseSize, z *size.FamilySize) {
	first, last := z.Curve[0].Blocks, z.Curve[len(z.Curve)-1].Blocks
	x := func(blocks int) float64 {
		return plotLeft + float64(plotRight-plotLeft)*float64(blocks-first)/math.Max(1, float64(last-first))
	}
	y := func(p float64) float64 { return plotBottom - float64(plotBottom-plotTop)*p }
	text := func(at, up float64, anchor, format string, args ...any) {
		fmt.Fprintf(b, `<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`+"\n", at, up, anchor, html.EscapeString(fmt.Sprintf(format, args...)))
	}
	line := func(x1, y1, x2, y2 float64, style string) {
		fmt.Fprintf(b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" %s/>`+"\n", x1, y1, x2, y2, style)
	}
	say := inMargin(e)
	text(plotLeft, 22, "start", "%s, %s: chance to find a difference of %s, with noise of %s", e.Name, z.Factors.Term(), say(verdict.Number(e.Margin.Value)), say(e.Noise.SD))
	for _, p := range []float64{0, 0.25, 0.5, 0.75, 1} {
		line(plotLeft, y(p), plotRight, y(p), `stroke="#ddd"`)
		text(plotLeft-8, y(p)+4, "end", "%g %%", 100*p)
	}
	line(plotLeft, y(r.Power), plotRight, y(r.Power), `stroke="#000" stroke-dasharray="6 4"`)
	text(plotLeft+6, y(r.Power)-5, "start", "%g %% asked for", 100*r.Power)
	b.WriteString(`<polyline fill="none" stroke="#0072b2" stroke-width="2" points="`)
	for _, p := range z.Curve {
		fmt.Fprintf(b, "%.1f,%.1f ", x(p.Blocks), y(float64(p.Power)))
	}
	b.WriteString(`"/>` + "\n")
	every := (len(z.Curve) + 11) / 12
	for k, p := range z.Curve {
		at, up := x(p.Blocks), y(float64(p.Power))
		switch {
		case z.Needed != nil && p.Blocks == z.Needed.Blocks:
			fmt.Fprintf(b, `<rect x="%.1f" y="%.1f" width="12" height="12" fill="#d55e00"/>`+"\n", at-6, up-6)
			word := "enough"
			if p.Blocks == z.Now.Blocks && r.Stage == size.Before {
				word = "as planned, and enough"
			}
			text(at, up+22, "middle", "%s", word)
		case p.Blocks == z.Now.Blocks:
			fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="6" fill="#fff" stroke="#0072b2" stroke-width="2"/>`+"\n", at, up)
			text(at, up+22, "middle", "%s", map[bool]string{true: "as it stands", false: "as planned"}[r.Stage == size.After])
		default:
			fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="3" fill="#0072b2"/>`+"\n", at, up)
		}
		if k%every == 0 {
			text(at, plotBottom+18, "middle", "%d", p.Blocks)
		}
	}
	text((plotLeft+plotRight)/2, plotBottom+40, "middle", "%s", further(r)+r.Blocks)
}
