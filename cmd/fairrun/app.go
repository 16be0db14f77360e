package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/stats/verdict"
)

// errAttention ends a command that did its work and printed it, but whose
// result needs the person.
var errAttention = errors.New("needs attention")

// usageError is a call that cannot be understood.
type usageError struct{ text string }

func (e *usageError) Error() string { return e.text }

func misuse(format string, args ...any) error {
	return &usageError{fmt.Sprintf(format, args...)}
}

// streams are what a command reads from and writes to.
type streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// grace is how long a command that is interrupted may take to end by itself.
const grace = 100 * time.Millisecond

// run parses the arguments, runs the command and returns the exit code. When ctx ends the
// command is interrupted: what does not stop by itself is left where it is.
func run(ctx context.Context, args []string, std streams) int {
	done := make(chan error, 1)
	go func() { done <- guarded(func() error { return call(ctx, args, std) }) }()
	select {
	case err := <-done:
		return report(std.Err, err, args)
	case <-ctx.Done():
	}
	select {
	case err := <-done:
		return report(std.Err, err, args)
	case <-time.After(grace):
		return report(std.Err, ctx.Err(), args)
	}
}

// call parses the arguments and runs the command.
func call(ctx context.Context, args []string, std streams) error {
	app := newApp(std)
	if len(args) > 1 && args[1] == completeName {
		return complete(app, std.Out, args[2:])
	}
	args, err := flagsFirst(app, args)
	if err != nil {
		return err
	}
	return app.RunContext(ctx, args)
}

// report says what went wrong and maps it to an exit code.
func report(w io.Writer, err error, args []string) int {
	var broken *crash
	var usage *usageError
	var request *verdict.RequestError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errAttention):
		return exitAttention
	case errors.As(err, &broken):
		say(w, plea(broken, args))
		return exitFault
	case errors.Is(err, context.Canceled):
		say(w, "interrupted")
		return exitInterrupted
	}
	for _, line := range strings.Split(err.Error(), "\n") {
		say(w, line)
	}
	if errors.As(err, &usage) || errors.As(err, &request) {
		say(w, "see '"+helpFor(args)+"'")
		return exitUsage
	}
	return exitFailed
}

// helpFor is the call that explains what was called wrongly: the page of the command, where there is one.
func helpFor(args []string) string {
	if len(args) > 1 && newApp(streams{}).Command(args[1]) != nil && args[1] != helpName {
		return "fairrun " + args[1] + " --help"
	}
	return "fairrun help"
}

// say prints a message: on one line, or at a terminal broken where it fits.
func say(w io.Writer, message string) {
	s := render.Style{}
	if _, ok := terminal(w); ok {
		s = styleOf(w)
	}
	fmt.Fprint(w, s.Paragraph("fairrun: "+message))
}

// newApp declares the commands.
func newApp(std streams) *cli.App {
	app := &cli.App{
		Name:                      "fairrun",
		Usage:                     "bench tests whose order drift cannot fake, and honest verdicts",
		UsageText:                 "fairrun COMMAND [ARGUMENTS] [flags]",
		Description:               "Most commands take the campaign's folder (default: the current one); record takes it before the run, or as --in FOLDER. Flags may stand before or after arguments.",
		HideVersion:               true,
		HideHelpCommand:           true,
		DisableSliceFlagSeparator: true, // values hold commas of their own; list splits those that are lists
		Reader:                    std.In,
		Writer:                    std.Out,
		ErrWriter:                 std.Err,
		ExitErrHandler:            func(*cli.Context, error) {},
		OnUsageError:              wrongFlag,
		Commands: []*cli.Command{
			initCommand(std),
			sheetCommand(std),
			recordCommand(std),
			repairCommand(std),
			measureCommand(std),
			verdictCommand(std),
			replicatesCommand(std),
			extendCommand(std),
			rehearseCommand(std),
			demoCommand(std),
			versionCommand(std),
			completionCommand(std),
			helpCommand(),
		},
		Flags: []cli.Flag{&cli.BoolFlag{Name: "version", Aliases: []string{"v"}}},
		Action: func(c *cli.Context) error {
			if c.Bool("version") {
				return printVersion(std.Out)
			}
			if c.Args().Present() {
				return misuse("there is no command %q%s", c.Args().First(), meant(c.Args().First(), commandNames(c.App), ""))
			}
			return printHelp(c)
		},
	}
	for _, c := range app.Commands {
		c.OnUsageError = wrongFlag
		c.HideHelpCommand = true
		c.CustomHelpTemplate = commandHelp(c)
	}
	app.CustomAppHelpTemplate = appHelp(app)
	return app
}

// folder returns the campaign folder that a command was given.
func folder(c *cli.Context) (string, error) {
	switch c.NArg() {
	case 0:
		return ".", nil
	case 1:
		dir := c.Args().First()
		info, err := os.Stat(dir)
		if err != nil {
			return "", fmt.Errorf("there is no folder %q", dir)
		}
		if !info.IsDir() {
			return "", misuse("%q is a file; name the campaign's folder", dir)
		}
		return dir, nil
	}
	return "", misuse("one folder at a time; got %q", c.Args().Slice())
}
