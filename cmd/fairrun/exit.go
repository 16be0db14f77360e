package main

import (
	"fmt"
	"strings"
)

// Exit codes.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitAttention   = 3
	exitFault       = 4
	exitInterrupted = 130 // 128 and the number of the signal, as shells have it
)

// exitMeanings says what each code means, for the help.
var exitMeanings = []struct {
	code    int
	meaning string
}{
	{exitDone, "done"},
	{exitFailed, "failed: the message says why"},
	{exitUsage, "the command was called wrongly"},
	{exitAttention, "done, but something needs you: under --strict, a comparison is unresolved"},
	{exitFault, "a fault in fairrun itself: please report it"},
	{exitInterrupted, "interrupted"},
}

// exitCodes is the part of the help that lists the codes.
func exitCodes() string {
	var b strings.Builder
	b.WriteString("Exit codes:\n")
	for _, e := range exitMeanings {
		b.WriteString(beside(fmt.Sprintf("  %d", e.code), 14, e.meaning))
	}
	return b.String()
}
