package main

import (
	"fmt"
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
func wrongFlag(_ *cli.Context, err error, _ bool) error {
	var value, name string
	text := err.Error()
	if name, unknown := strings.CutPrefix(text, "flag provided but not defined: -"); unknown {
		return misuse("there is no flag --%s", strings.TrimPrefix(name, "-"))
	}
	if n, _ := fmt.Sscanf(text, "invalid value %q for flag -%s", &value, &name); n == 2 {
		return misuse("--%s is %q; write a number", strings.TrimSuffix(name, ":"), value)
	}
	return misuse("%s", text)
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
