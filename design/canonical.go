package design

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
)

// planSchema names the canonical form. Fields that are added to a plan later are left out of the
// form at their default, so that the hash of a plan which does not use them stays what it was.
const planSchema = "fairrun.plan/2"

type canonicalPlan struct {
	Schema string `json:"schema"`
	*Plan
}

// Canonical returns the meaning of the plan as one line of JSON: the same for plans that differ
// only in comments, layout, the order of keys, keys written out at their default, and the seed,
// which the draw records itself. The order of factors, levels, treatments, responses and readings is
// part of the meaning: the sheet and the draw follow it.
func (c *Plan) Canonical() []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(canonicalPlan{planSchema, c}); err != nil {
		panic("design: plan with a number that is not finite")
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n"))
}

// Hash returns the SHA-256 of the Canonical form, in hexadecimal after "sha256:".
func (c *Plan) Hash() string {
	sum := sha256.Sum256(c.Canonical())
	return "sha256:" + hex.EncodeToString(sum[:])
}
