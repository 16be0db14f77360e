package main

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/urfave/cli/v2"
)

func versionCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:        "version",
		Usage:       "say which version this is, and of which commit",
		ArgsUsage:   " ",
		Description: "Name it when you report a fault. For example:\n\n  fairrun version",
		Action: func(c *cli.Context) error {
			if c.NArg() > 0 {
				return misuse("version takes no arguments; got %q", c.Args().Slice())
			}
			return printVersion(std.Out)
		},
	}
}

// printVersion writes the version, with the commit where the build knows it, and what it was built for.
func printVersion(w io.Writer) error {
	commit, changed := commit()
	text := "fairrun " + version()
	if commit != "" {
		text += ", commit " + commit
		if changed {
			text += " with changes"
		}
	}
	_, err := fmt.Fprintf(w, "%s, %s, %s/%s\n", text, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}

// version is that of the module as it was built, "(devel)" where the build does not
// know it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(devel)"
	}
	return info.Main.Version
}

// commit is that of the source, "" where the build does not know it; changed says whether files differ from it.
func commit() (hash string, changed bool) {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "", false
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			hash = s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			changed = s.Value == "true"
		}
	}
	return hash, changed
}
