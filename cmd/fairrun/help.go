package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
)

// Columns of a help page: all of it, and the widest flag that its explanation
// stands beside.
const (
	helpWidth = 80
	flagWidth = 21
)

// helpName is the command that says more about the others.
const helpName = "help"

func helpCommand() *cli.Command {
	return &cli.Command{
		Name:        helpName,
		Usage:       "say more about a command",
		ArgsUsage:   "[COMMAND]",
		Description: "Without a command: what the commands are. 'fairrun COMMAND --help' prints the same page as 'fairrun help COMMAND'.",
		Action: func(c *cli.Context) error {
			switch name := c.Args().First(); {
			case c.NArg() > 1:
				return misuse("help is for one command at a time; got %q", c.Args().Slice())
			case name == "":
				return printHelp(c)
			case c.App.Command(name) == nil:
				return misuse("there is no command %q%s", name, meant(name, commandNames(c.App), ""))
			default:
				_, err := io.WriteString(c.App.Writer, c.App.Command(name).CustomHelpTemplate)
				return err
			}
		},
	}
}

// printHelp writes the page of all commands.
func printHelp(c *cli.Context) error {
	_, err := io.WriteString(c.App.Writer, c.App.CustomAppHelpTemplate)
	return err
}

// appHelp is the page of "fairrun help". Like that of a command it is finished
// text: it takes the place of the parser's template and holds nothing to fill in.
func appHelp(app *cli.App) string {
	var b strings.Builder
	fmt.Fprintf(&b, "fairrun: %s\n\nUsage: %s\n\n%s\nCommands:\n", app.Usage, app.UsageText, paragraphs(app.Description))
	for _, c := range app.Commands {
		b.WriteString(beside("  "+c.Name, 14, c.Usage))
	}
	b.WriteString("\n" + exitCodes())
	b.WriteString("\n'fairrun help COMMAND' says more; 'fairrun version' which version this is.\n")
	return b.String()
}

// commandHelp is the page of one command.
func commandHelp(c *cli.Command) string {
	var b strings.Builder
	b.WriteString(beside("fairrun "+c.Name+":", len("fairrun :")+len(c.Name)+1, c.Usage))
	usage := strings.TrimRight(c.Name+" "+c.ArgsUsage, " ")
	if len(c.Flags) > 0 {
		usage += " [flags]"
	}
	fmt.Fprintf(&b, "\nUsage: fairrun %s\n\n%s", usage, paragraphs(c.Description))
	category := ""
	for i, f := range c.Flags {
		d, ok := f.(cli.DocGenerationFlag)
		if !ok {
			continue
		}
		heading := "Flags"
		if k, ok := f.(cli.CategorizableFlag); ok && k.GetCategory() != "" {
			heading = k.GetCategory()
		}
		if heading != category || i == 0 {
			fmt.Fprintf(&b, "\n%s:\n", heading)
			category = heading
		}
		value, text := placeholder(d)
		if usual := usual(d); usual != "" {
			text += " (default: " + usual + ")"
		}
		b.WriteString(beside(strings.TrimRight("  --"+f.Names()[0]+" "+value, " "), flagWidth+2, text))
	}
	return b.String()
}

// placeholder is what stands for a flag's value, taken from the backquotes in
// its usage, and what the usage says: without it where it comes first, otherwise it is a word of the sentence.
func placeholder(f cli.DocGenerationFlag) (value, text string) {
	before, rest, found := strings.Cut(f.GetUsage(), "`")
	if !found {
		return "", before
	}
	value, after, _ := strings.Cut(rest, "`")
	if before != "" {
		after = before + value + after
	}
	return value, strings.TrimSpace(after)
}

// usual is a flag's default, "" when it has none worth telling.
func usual(f cli.DocGenerationFlag) string {
	switch f.(type) {
	case *cli.StringFlag, *cli.IntFlag, *cli.Float64Flag:
		if v := f.GetValue(); v != "0" { // which stands for none
			return v
		}
	}
	return ""
}

// beside sets text in a column beside a term, or under a term that is too wide.
func beside(term string, column int, text string) string {
	indent := strings.Repeat(" ", column)
	lines := strings.Split(strings.TrimRight(render.Wrap(text, helpWidth-column, ""), "\n"), "\n")
	body := strings.Join(lines, "\n"+indent) + "\n"
	if n := utf8.RuneCountInString(term); n < column {
		return term + indent[n:] + body
	}
	return term + "\n" + indent + body
}

// paragraphs wraps a description; lines that are indented stay as they are.
func paragraphs(text string) string {
	var b strings.Builder
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(line, " ") {
			b.WriteString(line + "\n")
		} else {
			b.WriteString(render.Wrap(line, helpWidth, ""))
		}
	}
	return b.String()
}
