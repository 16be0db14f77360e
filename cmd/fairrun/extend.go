package main

import (
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/analysis"
	"fairrun/design/sheet"
	"fairrun/design/size"
)

func extendCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "extend",
		Usage:     "add freshly drawn blocks to a running campaign",
		ArgsUsage: "[FOLDER]",
		Description: "Draws further blocks by the same rule, adds their rows below those of the run sheet, which stay as they are, " +
			"notes the extension in draw.json and changes the number of blocks in campaign.toml. " +
			"Prints what was added, what it costs and what it gains. \"fairrun replicates\" tells how many blocks it takes.\n\n" +
			"After the runs of a screen (resolution, fraction or plackett_burman in [order]) its fold-over tells effects apart that they mix: " +
			"that of all factors main effects from interactions of two factors, that of one its effect and its interactions from all others:\n\n" +
			"  fairrun extend --fold-over all\n" +
			"  fairrun extend --fold-over prop\n\n" +
			"It goes into blocks of its own. Blocks added later are shared out over the runs and their fold-over.",
		Flags: []cli.Flag{
			formatFlag(),
			&cli.IntFlag{Name: "blocks", Usage: "add `N` blocks: packs, sessions"},
			&cli.StringFlag{Name: "fold-over", Usage: "`WHAT` add the fold-over of a screen: its runs once more with the levels of all factors exchanged (all), or those of the one named; in as many blocks as there are, or --blocks"},
		},
		Action: func(c *cli.Context) error { return extendAction(c, std) },
	}
}

func extendAction(c *cli.Context, std streams) error {
	f, dir, err := formatAndFolder(c)
	if err != nil {
		return err
	}
	blocks, fold := c.Int("blocks"), c.String("fold-over")
	switch {
	case c.IsSet("fold-over") && fold == "":
		return misuse("say what to fold over: --fold-over all, or one factor")
	case c.IsSet("blocks") && blocks < 1, blocks < 1 && fold == "":
		return misuse("say how many blocks to add, 1 or more: --blocks 2")
	}
	var before, after *sheet.Sheet
	err = whileBusy(c.Context, std.Err, "searching for the best blocks", func() (err error) {
		if fold != "" {
			before, after, err = sheet.FoldOver(dir, fold, blocks, time.Now())
			return err
		}
		before, after, err = sheet.Extend(dir, blocks, time.Now())
		return err
	})
	if err != nil {
		return err
	}
	complain(std.Err, after.Warnings)
	return stored(std, "the blocks are added", writeExtension(std, before, after, f))
}

// writeExtension prints what was added.
func writeExtension(std streams, before, after *sheet.Sheet, f render.Format) error {
	w := std.Out
	switch f {
	case render.JSON:
		finds, err := size.Sensitivities(after)
		if err != nil {
			say(std.Err, err.Error())
		}
		return render.WriteJSON(w, analysis.SummariseExtension(before, after, finds))
	case render.CSV:
		head, rows := render.SheetRows(after)
		return render.WriteCSV(w, head, rows[len(before.Runs):])
	}
	// The blocks are added, whatever can be said of what they gain.
	was, errWas := analysis.Explain(before)
	is, errIs := analysis.Explain(after)
	if errWas != nil || errIs != nil {
		was, is = &analysis.Explanation{}, &analysis.Explanation{}
	}
	return render.Extension(before, after, was, is).Write(w, f, styleOf(w))
}
