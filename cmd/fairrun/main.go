// Command fairrun plans bench tests so that drift cannot fake a result, and
// says afterwards which differences are real.
package main

import "os"

func main() {
	os.Exit(run(os.Args, streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}
