package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fairrun/stats/words"
)

// flagsFirst moves a command's flags ahead of its arguments, since the parser
// stops reading flags at the first argument and people put them last. All that
// follows "--" stays an argument. A call that asks for help in any of the usual
// ways becomes one of the help command.
func flagsFirst(app *cli.App, args []string) ([]string, error) {
	if len(args) < 2 {
		return args, nil
	}
	if isHelpFlag(args[1]) {
		return append([]string{args[0], helpName}, args[2:]...), nil
	}
	command := app.Command(args[1])
	if command == nil {
		return args, nil
	}
	if command.Name == recordName {
		args = folderFirst(args)
	}
	help := []string{args[0], helpName, command.Name}
	if len(args) == 3 && args[2] == helpName && command.Name != helpName && !exists(helpName) {
		return help, nil
	}
	var flags, rest []string
	for i := 2; i < len(args); i++ {
		a := args[i]
		switch {
		case a == "--":
			rest = append(rest, args[i+1:]...)
			i = len(args)
		case isHelpFlag(a):
			return help, nil
		case len(a) < 2 || a[0] != '-' || isNumber(a):
			rest = append(rest, a)
		case takesOptionalValue(a) && (i+1 == len(args) || strings.HasPrefix(args[i+1], "-")):
			flags = append(flags, a+"=")
		default:
			flags = append(flags, a)
			if strings.Contains(a, "=") || !takesValue(command, strings.TrimLeft(a, "-")) {
				continue
			}
			if i++; i == len(args) {
				return nil, misuse("flag %s needs a value", a)
			}
			flags = append(flags, args[i])
		}
	}
	out := append([]string{args[0], args[1]}, flags...)
	if len(rest) > 0 {
		out = append(append(out, "--"), rest...)
	}
	return out, nil
}

// checkChances refuses an --alpha or --power that is no chance.
func checkChances(c *cli.Context) error {
	for _, name := range []string{"alpha", "power"} {
		if v := c.Float64(name); !(v > 0 && v < 1) {
			return misuse("--%s is %v; it must lie between 0 and 1", name, v)
		}
	}
	return nil
}

// wrongFlag turns the parser's complaint into a usage error, in our words where
// it is one of the usual ones.
func wrongFlag(c *cli.Context, err error, _ bool) error {
	var value, name string
	text := err.Error()
	if name, unknown := strings.CutPrefix(text, "flag provided but not defined: -"); unknown {
		name = strings.TrimPrefix(name, "-")
		dashes := "--"
		if len(name) == 1 {
			dashes = "-"
		}
		return misuse("there is no flag %s%s%s", dashes, name, meant(name, flagNames(c), "--"))
	}
	if n, _ := fmt.Sscanf(text, "invalid value %q for flag -%s", &value, &name); n == 2 {
		return misuse("--%s is %q; write a number", strings.TrimSuffix(name, ":"), value)
	}
	return misuse("%s", text)
}

// flagNames are the flags that a command has.
func flagNames(c *cli.Context) []string {
	var names []string
	if c == nil || c.Command == nil {
		return nil
	}
	for _, f := range c.Command.Flags {
		names = append(names, f.Names()[0])
	}
	return names
}

// commandNames are all commands.
func commandNames(app *cli.App) []string {
	var names []string
	for _, c := range app.Commands {
		names = append(names, c.Name)
	}
	return names
}

// meant asks whether another name was meant; "" where none is like it.
func meant(word string, names []string, dashes string) string {
	if near := words.Nearest(word, names); near != "" {
		return "; did you mean " + dashes + near + "?"
	}
	return ""
}

// folderFirst writes "record FOLDER RUN …" as record takes it, with the folder behind --in; what is no folder, or stands alone, stays.
func folderFirst(args []string) []string {
	if len(args) < 4 || !isFolder(args[2]) || !startsWithDigit(args[3]) {
		return args
	}
	return slices.Concat(args[:2], args[3:], []string{"--in", args[2]})
}

// startsWithDigit says whether a text may be the number of a run.
func startsWithDigit(text string) bool { return text != "" && text[0] >= '0' && text[0] <= '9' }

// isHelpFlag says whether an argument asks for help.
func isHelpFlag(a string) bool {
	return a == "--help" || a == "-help" || a == "-h" || a == "--h"
}

// exists says whether there is a file or folder of a name.
func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// isNumber says whether an argument such as "-3" is a number, not a flag.
func isNumber(a string) bool {
	return a[1] >= '0' && a[1] <= '9' || a[1] == '.'
}

// takesOptionalValue says whether a flag may stand without its value, where nothing but a flag follows it.
func takesOptionalValue(a string) bool { return strings.TrimLeft(a, "-") == saveNoiseFlag }

// takesValue says whether a flag of the command is followed by a value.
func takesValue(command *cli.Command, name string) bool {
	for _, f := range command.Flags {
		for _, n := range f.Names() {
			if n == name {
				d, ok := f.(cli.DocGenerationFlag)
				return ok && d.TakesValue()
			}
		}
	}
	return false
}
