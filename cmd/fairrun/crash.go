package main

import (
	"fmt"
	"path"
	"regexp"
	"runtime/debug"
	"strings"
)

// crash is a panic, as an error: something that fairrun got wrong, whatever it was given.
type crash struct {
	value any
	stack []byte
}

// guarded does work and returns what it panics with as a crash. Work that it shares among
// goroutines has to bring their panics back to its own: stats/parallel does.
func guarded(work func() error) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = &crash{v, debug.Stack()}
		}
	}()
	return work()
}

// cause is what was panicked with, and the stack of the goroutine that did.
func (f *crash) cause() (value any, stack []byte) {
	if p, ok := f.value.(interface{ Cause() (any, []byte) }); ok {
		return p.Cause()
	}
	return f.value, f.stack
}

func (f *crash) Error() string {
	value, stack := f.cause()
	text := strings.Join(strings.Fields(fmt.Sprint(value)), " ")
	if at := panicked(stack); at != "" {
		text += " (" + at + ")"
	}
	return text
}

// frame is a line of a stack that names a file: the file, and the line in it.
var frame = regexp.MustCompile(`^\t(.+):(\d+)(?: \+0x[0-9a-f]+)?$`)

// panicked is the place in fairrun where a stack panicked, as FILE:LINE; "" where none can be read.
func panicked(stack []byte) string {
	_, below, found := strings.Cut(string(stack), "\npanic(")
	if !found {
		return ""
	}
	lines := strings.Split(below, "\n")
	for i := 1; i < len(lines); i++ {
		at := frame.FindStringSubmatch(lines[i])
		if at == nil || !ours(lines[i-1]) {
			continue
		}
		return path.Base(path.Dir(at[1])) + "/" + path.Base(at[1]) + ":" + at[2]
	}
	return ""
}

// ours says whether a function named in a stack is one of fairrun.
func ours(function string) bool {
	return strings.HasPrefix(function, "fairrun/") || strings.HasPrefix(function, "main.")
}

// plea is what a person reads of a fault: what happened, and what to do about it.
func plea(f *crash, args []string) string {
	return fmt.Sprintf("a fault in fairrun itself: %v; please report it, with the command: %s", f, typed(args))
}

// bare is an argument that a shell takes as it stands.
var bare = regexp.MustCompile(`^[\w@%+=:,./\\-]+$`)

// typed is a command as it is typed into a shell.
func typed(args []string) string {
	words := []string{"fairrun"}
	for _, a := range args[min(1, len(args)):] {
		if !bare.MatchString(a) {
			a = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
		words = append(words, a)
	}
	return strings.Join(words, " ")
}
