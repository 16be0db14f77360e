package main

import (
	"strings"

	"github.com/urfave/cli/v2"
)

// flagsFirst moves a command's flags ahead of its arguments, since the parser
// stops reading flags at the first argument and people put them last. All that
// follows "--" stays an argument.
func flagsFirst(app *cli.App, args []string) ([]string, error) {
	if len(args) < 2 {
		return args, nil
	}
	command := app.Command(args[1])
	if command == nil {
		return args, nil
	}
	var flags, rest []string
	for i := 2; i < len(args); i++ {
		a := args[i]
		switch {
		case a == "--":
			rest = append(rest, args[i+1:]...)
			i = len(args)
		case len(a) < 2 || a[0] != '-' || isNumber(a):
			rest = append(rest, a)
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

// isNumber says whether an argument such as "-3" is a number, not a flag.
func isNumber(a string) bool {
	return a[1] >= '0' && a[1] <= '9' || a[1] == '.'
}

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
