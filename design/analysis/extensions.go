package analysis

import (
	"context"
	"fmt"
	"time"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// extensions says of every extension of a campaign whether the noise that was
// measured by then explains it.
//
// How many blocks it takes follows from the noise alone, which says nothing of
// which level is better; a campaign that is made longer for that reason keeps its
// false alarms all but unchanged (Wittes & Brittain 1990, Statistics in Medicine 9,
// 65–72). One that is made longer because a p-value was close does not. The
// record holds when blocks were added and the sheet when runs were made, so that
// the number that the noise asked for is computed again from the runs of the time.
func extensions(ctx context.Context, s *sheet.Sheet, l looks) []verdict.Check {
	const name = "extension"
	var out []verdict.Check
	before := s.Draw.Draws[0].Blocks
	for _, d := range s.Draw.Draws[1:] {
		block := s.Campaign.Block
		p := question.ProgressAt(s, before, d.Time)
		if d.FoldOver != "" {
			out = append(out, verdict.Remark(name, false, "%s", l.foldOver(block, d, p, before)))
			before += d.Blocks
			continue
		}
		text := fmt.Sprintf("%s %s added on %s, with %d of %s complete", block.Many(d.Blocks), words.Agree(d.Blocks, "was", "were"), d.Time.Format("2006-01-02"), p.Complete, block.Many(before))
		flag := false
		switch asked, known := noiseAsked(ctx, s, d.Time, before); {
		case p.Share == 0:
			text += ": no result was known"
		case !known:
			flag = true
			text += ": what the noise measured by then asked for cannot be computed, so the reason is open; " + l.priceOf(max(1, p.Complete), before)
		case asked > before-p.Complete:
			text += fmt.Sprintf(": the noise measured by then asked for %s more than planned, so the noise alone explains it, and false alarms stay all but unchanged", atLeast(block, asked-before+p.Complete))
		default:
			flag = true
			text += ": the noise measured by then asked for no more than planned, so it is not the noise that explains it; " + l.priceOf(max(1, p.Complete), before)
		}
		out = append(out, verdict.Remark(name, flag, "%s", text))
		before += d.Blocks
	}
	return out
}

// foldOver says what the fold-over of a screen is for, added with the progress p of a campaign that
// was then to have end blocks: the question it answers is not whether a p-value is small enough.
func (l looks) foldOver(b design.Block, d sheet.Drawing, p question.Progress, end int) string {
	text := fmt.Sprintf("the fold-over (%s), %s, was added on %s, with %d of %s complete", d.FoldOver, b.Many(d.Blocks), d.Time.Format("2006-01-02"), p.Complete, b.Many(end))
	if p.Share == 0 {
		return text + ": no result was known"
	}
	return text + ", to tell effects apart: false alarms stay as they are if it is run whatever the first results were; " + l.priceOf(max(1, p.Complete), end)
}

// atLeast says a number of blocks that may have no end.
func atLeast(b design.Block, n int) string {
	if n > size.MostBlocks {
		return fmt.Sprintf("more than %s", b.Many(size.MostBlocks))
	}
	return b.Many(n)
}

// priceOf is the price of going on after a look at so many complete blocks of a
// campaign that was then to have end.
func (l looks) priceOf(complete, end int) string {
	points := l.Taken(complete)
	if last := l.Ends[len(l.Ends)-1]; last > complete {
		points = append(points, last)
	}
	price := l.FalseAlarms(points, func(b int) int {
		if b <= complete {
			return end
		}
		return l.End(b)
	})
	return fmt.Sprintf("going on because a p-value was close raises false alarms from %s to about %s", percent(l.Alpha), percent(price))
}

// noiseAsked is how many blocks, on top of those that were complete at some time, the
// noise measured by then asked for: the most of any response and family. known is false when
// it asked for nothing that can be computed.
func noiseAsked(ctx context.Context, s *sheet.Sheet, at time.Time, blocks int) (asked int, known bool) {
	d, q := question.Of(s)
	rows := question.Analysed(s).Runs
	for i := range rows {
		if rows[i].Block > blocks || !question.MadeBy(&rows[i], at) {
			d.Status[i] = verdict.Todo
		}
	}
	q.Looks = nil
	v, err := verdict.Analyse(ctx, d, q)
	if err != nil {
		return 0, false
	}
	c := *s.Campaign
	c.Block.Count = blocks
	return size.AskedFor(ctx, &c, &s.Draw.Order, v)
}
