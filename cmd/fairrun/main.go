// Command fairrun plans bench tests so that drift cannot fake a result, and
// says afterwards which differences are real.
//
// In: a command line and a campaign's folder. Out: tables, JSON and files, and an exit code. One file holds one
// command. Read main.go first, then app.go and the file of a command, such as verdict.go.
package main

import (
	"context"
	"os"
	"os/signal"
)

func main() {
	os.Exit(start())
}

// start runs the command that the program was called with. A first interrupt, Ctrl-C, ends it
// in order; a second one at once.
func start() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	context.AfterFunc(ctx, stop)
	return run(ctx, os.Args, streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
}
