package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/urfave/cli/v2"

	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// saveNoiseFlag keeps the measured noise. Its value may be left out where the plan names a rig.
const saveNoiseFlag = "save-noise"

// checkNoiseFile refuses a folder in the place of the file to keep the noise in: the flag takes the argument
// that follows it.
func checkNoiseFile(c *cli.Context) error {
	path := c.String(saveNoiseFlag)
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return misuse("--%s is followed by %s, which is a folder; name the file to keep the noise in, or put the flag last: fairrun verdict %s --%s", saveNoiseFlag, path, path, saveNoiseFlag)
	}
	return nil
}

// noiseFile is where to keep the measured noise; "" when that was not asked for. There is no sheet for a
// file of results without a plan.
func noiseFile(c *cli.Context, s *sheet.Sheet) (string, error) {
	switch path := c.String(saveNoiseFlag); {
	case !c.IsSet(saveNoiseFlag) || path != "":
		return path, nil
	case s == nil || s.Campaign.Rig == nil:
		return "", misuse("--%s needs a FILE here; it goes without one when the plan has [rig] noise_file = \"../noise.toml\"", saveNoiseFlag)
	}
	return s.Campaign.Rig.Path, nil
}

// keepNoise keeps the noise that a verdict measured, and says what is odd about it.
func keepNoise(errs io.Writer, path string, v *verdict.Verdict, s *sheet.Sheet) error {
	kept, err := size.KeepNoise(path, v, drawnSeed(s))
	if errors.Is(err, size.ErrNoNoise) {
		return fmt.Errorf("%s is not written: %w", path, err)
	}
	if err != nil {
		return err
	}
	for _, text := range kept.Warnings {
		say(errs, text)
	}
	if kept.Campaigns > 1 {
		fmt.Fprintf(errs, "%s has the noise of %d campaigns now.\n", path, kept.Campaigns)
	}
	for _, text := range kept.Apart {
		fmt.Fprintf(errs, "%s\n", text)
	}
	return nil
}

// drawnSeed is the seed of a sheet's draw, nil without a sheet.
func drawnSeed(s *sheet.Sheet) *uint64 {
	if s == nil {
		return nil
	}
	return &s.Draw.Order.Seed
}

// remindOfNoise says of a campaign that is done that its rig's record does not have its noise yet.
func remindOfNoise(errs io.Writer, dir string, v *verdict.Verdict, s *sheet.Sheet) {
	if s == nil || s.Campaign.Rig == nil || !size.LacksNoise(v, s) {
		return
	}
	fmt.Fprintf(errs, "The campaign is done, and %s does not have its noise yet: \"fairrun verdict%s --%s\" keeps it.\n", s.Campaign.Rig.Path, argument(dir), saveNoiseFlag)
}
