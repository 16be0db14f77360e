package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/sheet"
)

// completeName is the call that completion scripts make: the words of a command line so far, the last of which is to be completed.
const completeName = "__complete"

// completionScripts make a shell ask fairrun itself, so that levels, runs and folders are those of the campaign.
var completionScripts = map[string]string{
	"bash": `_fairrun() {
  local IFS=$'\n'
  COMPREPLY=($(fairrun ` + completeName + ` "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null))
  [[ ${COMPREPLY[0]} == *= ]] && compopt -o nospace 2>/dev/null
  return 0
}
complete -o default -F _fairrun fairrun
`,
	"zsh": `#compdef fairrun
_fairrun() {
  local -a found
  found=("${(@f)$(fairrun ` + completeName + ` "${(@)words[2,CURRENT]}" 2>/dev/null)}")
  compadd -- $found || _files
}
compdef _fairrun fairrun
`,
	"fish": `complete -c fairrun -f -a '(fairrun ` + completeName + ` (commandline -opc)[2..] (commandline -ct) 2>/dev/null)'
`,
	"powershell": `Register-ArgumentCompleter -Native -CommandName fairrun -ScriptBlock {
  param($word, $line, $at)
  $words = @($line.CommandElements | Select-Object -Skip 1 | ForEach-Object { "$_" })
  if ($word -eq '') { $words += '' }
  fairrun ` + completeName + ` @words 2>$null | ForEach-Object { [System.Management.Automation.CompletionResult]::new($_) }
}
`,
}

// shells lists them in the order of the help.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func completionCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print a script that completes fairrun's commands in a shell",
		ArgsUsage: "bash|zsh|fish|powershell",
		Description: "Completes commands, flags and what they can be, folders of campaigns, and for record the runs still to do and the names of the columns.\n\n" +
			"  source <(fairrun completion bash)    in ~/.bashrc\n" +
			"  fairrun completion zsh > ~/.zfunc/_fairrun\n" +
			"  fairrun completion fish > ~/.config/fish/completions/fairrun.fish\n" +
			"  fairrun completion powershell | Out-String | Invoke-Expression\n",
		Action: func(c *cli.Context) error {
			script, known := completionScripts[c.Args().First()]
			if !known || c.NArg() > 1 {
				return misuse("completion is for one shell: %s; got %q", strings.Join(shells, ", "), c.Args().Slice())
			}
			_, err := io.WriteString(std.Out, script)
			return err
		},
	}
}

// complete prints what the last of some words may become, one a line.
func complete(app *cli.App, w io.Writer, typed []string) error {
	if len(typed) == 0 {
		typed = []string{""}
	}
	word := typed[len(typed)-1]
	for _, candidate := range candidates(app, typed[:len(typed)-1], word) {
		if strings.HasPrefix(candidate, word) {
			if _, err := fmt.Fprintln(w, candidate); err != nil {
				return err
			}
		}
	}
	return nil
}

// candidates are what may follow some words, the next of which has begun as word.
func candidates(app *cli.App, before []string, word string) []string {
	if len(before) == 0 {
		return commandNames(app)
	}
	command := app.Command(before[0])
	if command == nil {
		return nil
	}
	if choices := flagChoices(command.Name, before[len(before)-1]); choices != nil {
		return choices
	}
	switch {
	case strings.HasPrefix(word, "-"):
		var flags []string
		for _, f := range command.Flags {
			flags = append(flags, "--"+f.Names()[0])
		}
		return append(flags, "--help")
	case command.Name == helpName:
		return commandNames(app)
	case command.Name == "completion":
		return shells
	case command.Name == recordName:
		return recordCandidates(before[1:], word)
	}
	return campaigns(word)
}

// flagChoices are what the value of a flag can be, nil where that is no short list.
func flagChoices(command, flag string) []string {
	switch strings.TrimLeft(flag, "-") {
	case "format":
		var out []string
		for _, f := range render.Formats {
			out = append(out, string(f))
		}
		if command == "sheet" {
			out = append(out, string(printable))
		}
		return out
	case "compare":
		return []string{"pairs", "baseline", "best"}
	case "better":
		return []string{"higher", "lower"}
	case "scale":
		return []string{"raw", "log"}
	}
	return nil
}

// recordCandidates are the runs to do, or behind a run the names of what is stored.
func recordCandidates(before []string, word string) []string {
	dir, run := ".", false
	for i, a := range before {
		switch {
		case a == "--in" && i+1 < len(before):
			dir = before[i+1]
		case isFolder(a):
			dir = a
		case startsWithDigit(a):
			run = true
		}
	}
	if len(before) > 0 && before[len(before)-1] == "--in" {
		return campaigns(word)
	}
	s, err := sheet.Open(dir)
	if err != nil {
		return campaigns(word)
	}
	var out []string
	if run {
		for _, r := range s.Campaign.Responses {
			out = append(out, r.Name+"=")
		}
		for _, r := range s.Campaign.Readings {
			out = append(out, r.Name+"=")
		}
		return append(out, "status=ok", "status=failed", "status=void", "note=")
	}
	for i := range s.Runs {
		if s.Runs[i].Status == sheet.ToDo {
			out = append(out, strconv.Itoa(s.Runs[i].Run))
		}
	}
	return slices.Concat(out, campaigns(word))
}

// campaigns are the folders that hold a plan and begin as word does.
func campaigns(word string) []string {
	plans, err := filepath.Glob(filepath.Join(word+"*", planFile))
	if err != nil {
		return nil
	}
	var out []string
	for _, p := range plans {
		out = append(out, filepath.Dir(p))
	}
	if word == "" {
		if _, err := os.Stat(planFile); err == nil {
			out = append(out, ".")
		}
	}
	return out
}
