package design

import (
	"math"
)

// MaxSeed is the largest seed a plan can hold: integers of a TOML file have 64 bits with a sign.
const MaxSeed = math.MaxInt64
