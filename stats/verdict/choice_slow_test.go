//go:build slow

package verdict

import "testing"

func TestChoiceAgreesOften(t *testing.T) { choiceAgrees(t, 10000) }
