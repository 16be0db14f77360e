// Package parallel runs pieces of work side by side and brings a panic in one of them back to the
// goroutine that waits, where it can be recovered. Pieces of work go into a [Group].
//
// Read group.go.
package parallel

import (
	"fmt"
	"runtime/debug"
	"sync"
)

// Group is pieces of work that run side by side. The zero Group is ready for use.
type Group struct {
	running sync.WaitGroup
	first   sync.Once
	panic   *Panic
}

// Go runs f on a goroutine of its own.
func (g *Group) Go(f func()) {
	g.running.Go(func() {
		defer func() {
			switch v := recover().(type) {
			case nil:
			case *Panic: // of work that this work shared out
				g.first.Do(func() { g.panic = v })
			default:
				g.first.Do(func() { g.panic = &Panic{Value: v, Stack: debug.Stack()} })
			}
		}()
		f()
	})
}

// Wait waits for all of the work. If some of it panicked it panics with the first [Panic].
func (g *Group) Wait() {
	g.running.Wait()
	if g.panic != nil {
		panic(g.panic)
	}
}

// Panic is what a piece of work panicked with. As an error it says where, too.
type Panic struct {
	Value any
	Stack []byte // of the goroutine that panicked
}

func (p *Panic) Error() string { return fmt.Sprintf("%v\n\n%s", p.Value, p.Stack) }

// Cause returns what the work panicked with, and the stack of its goroutine.
func (p *Panic) Cause() (value any, stack []byte) { return p.Value, p.Stack }

// Unwrap returns the value if it is an error.
func (p *Panic) Unwrap() error {
	err, _ := p.Value.(error)
	return err
}
