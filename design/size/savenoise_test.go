package size

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"fairrun/design/plan"
	"fairrun/stats/verdict"
)

// Campaigns that keep their noise in one record at the same time all find it there afterwards, also through
// a link, and the permissions of the file stay.
func TestKeepNoiseTogether(t *testing.T) {
	dir := t.TempDir()
	target := filepath.Join(dir, "noise.toml")
	if err := os.WriteFile(target, []byte("# mine\n[[campaign]]\ntitle = \"first\"\n[[campaign.response]]\nname = \"y\"\nsd = 1\ndf = 3\n"), 0o640); err != nil {
		t.Fatal(err)
	}
	paths := []string{target}
	link := filepath.Join(t.TempDir(), "link.toml")
	if os.Symlink(target, link) == nil {
		paths = append(paths, link)
	}
	const campaigns = 8
	var group sync.WaitGroup
	for i := range campaigns {
		group.Go(func() {
			v := &verdict.Verdict{Campaign: verdict.Campaign{Title: fmt.Sprint("campaign ", i)},
				Responses: []verdict.Response{{Name: "y", Noise: verdict.Noise{SD: 2, DF: 4}}}}
			if _, err := KeepNoise(paths[i%len(paths)], v, nil); err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	n, err := plan.ReadNoise(target)
	if err != nil {
		t.Fatal(err)
	}
	if len(n.Campaigns) != campaigns+1 {
		t.Errorf("%d campaigns are kept, want %d", len(n.Campaigns), campaigns+1)
	}
	if info, err := os.Stat(target); err != nil || info.Mode().Perm() != 0o640 && os.PathSeparator == '/' {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if text, err := os.ReadFile(target); err != nil || string(text[:7]) != "# mine\n" {
		t.Errorf("the record begins with %q, %v", text[:7], err)
	}
}
