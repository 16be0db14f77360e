package main

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"fairrun/cmd/fairrun/internal/render"
)

// formatFlag is the flag of every command that prints a table.
func formatFlag() cli.Flag {
	return &cli.StringFlag{Name: "format", Value: string(render.Terminal), Usage: "`FORMAT` table, json, csv or markdown"}
}

// fullFlag is the flag of every command that answers on a page.
func fullFlag() cli.Flag {
	return &cli.BoolFlag{Name: "full", Usage: "show all tables, and all checks"}
}

// format reads the flag.
func format(c *cli.Context) (render.Format, error) {
	f, err := render.ParseFormat(c.String("format"))
	if err != nil {
		return "", misuse("%v", err)
	}
	return f, nil
}

// Columns of what is no terminal, and the least that text is laid out for.
const (
	usualWidth = 80
	leastWidth = 40
)

// formatAndFolder reads what a command takes that prints tables of a campaign.
func formatAndFolder(c *cli.Context) (render.Format, string, error) {
	f, err := format(c)
	if err != nil {
		return "", "", err
	}
	dir, err := folder(c)
	return f, dir, err
}

// styleOf asks what w can show: colour and a width only at a terminal, and no
// colour when NO_COLOR is set and not empty (no-color.org).
func styleOf(w io.Writer) render.Style {
	s := render.Style{Width: columns(os.Getenv), Plain: !drawsLines(os.Getenv, runtime.GOOS)}
	fd, ok := terminal(w)
	if !ok {
		return s
	}
	if width, _, err := term.GetSize(fd); err == nil && width > 0 {
		s.Width = max(width, leastWidth)
	}
	s.Colour = colourful(os.Getenv)
	return s
}

// columns is the width of what is no terminal: that of COLUMNS, where a number stands in it.
func columns(getenv func(string) string) int {
	if n, err := strconv.Atoi(getenv("COLUMNS")); err == nil && n > 0 {
		return max(n, leastWidth)
	}
	return usualWidth
}

// drawsLines says whether characters beyond ASCII are safe in a picture: the locale has UTF-8, the terminal is not a dumb one,
// and the language is none whose fonts draw lines two columns wide.
func drawsLines(getenv func(string) string, system string) bool {
	if getenv("TERM") == "dumb" {
		return false
	}
	locale := ""
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if locale = strings.ToLower(getenv(name)); locale != "" {
			break
		}
	}
	if locale == "" {
		return system == "windows" || system == "darwin"
	}
	for _, language := range []string{"zh", "ja", "ko"} {
		if strings.HasPrefix(locale, language) {
			return false
		}
	}
	return strings.Contains(locale, "utf-8") || strings.Contains(locale, "utf8")
}

// colourful says whether a terminal may be coloured (no-color.org).
func colourful(getenv func(string) string) bool {
	return getenv("NO_COLOR") == "" && getenv("TERM") != "dumb"
}

// terminal returns the descriptor of a stream that is a terminal.
func terminal(stream any) (int, bool) {
	f, ok := stream.(*os.File)
	if !ok {
		return 0, false
	}
	fd := int(f.Fd())
	return fd, term.IsTerminal(fd)
}

// layout is how an answer is printed.
type layout struct {
	format render.Format
	full   bool
	in     string // what follows a command to name the campaign's folder
}

// list splits a comma-separated flag that may also be given several times.
func list(values []string) []string {
	var out []string
	for _, v := range values {
		for _, s := range strings.Split(v, ",") {
			if s = strings.TrimSpace(s); s != "" {
				out = append(out, s)
			}
		}
	}
	return out
}

// stored is the error of printing what a command has stored already: it is said, and the command is done all
// the same, so that nobody does its work twice.
func stored(std streams, what string, err error) error {
	if err != nil {
		say(std.Err, fmt.Sprintf("%s, but that cannot be printed: %v", what, err))
	}
	return nil
}
