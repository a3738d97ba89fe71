package main

import (
	"fmt"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// completionTimeout is how long a person at the keyboard is kept waiting. When
// the server does not answer by then, nothing is offered.
const completionTimeout = time.Second

// ask gets words from the server for a completion. Errors are silent.
func (a *app) ask(get func(*client) []cobra.Completion) ([]cobra.Completion, cobra.ShellCompDirective) {
	a.timeout = completionTimeout
	c, err := a.dial()
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer c.close()
	return get(c), cobra.ShellCompDirectiveNoFileComp
}

// completeModel offers the models that the server has sheets for.
func (a *app) completeModel(cmd *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.ask(func(c *client) []cobra.Completion {
		specs, _ := listSpecs(cmd.Context(), c, "")
		var words []cobra.Completion
		seen := make(map[string]bool)
		for _, s := range specs {
			if model := layout.Clean(s.GetModel()); !seen[model] {
				seen[model] = true
				words = append(words, cobra.CompletionWithDesc(model, layout.Clean(s.GetMake())))
			}
		}
		slices.Sort(words)
		return words
	})
}

// completeSpec offers the identifiers of specs.
func (a *app) completeSpec(cmd *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.ask(func(c *client) []cobra.Completion {
		specs, _ := listSpecs(cmd.Context(), c, "")
		var words []cobra.Completion
		for _, s := range specs {
			words = append(words, cobra.CompletionWithDesc(layout.Clean(path.Base(s.GetName())),
				layout.Clean(fmt.Sprintf("%s %s %d %s", s.GetMake(), s.GetModel(), s.GetModelYear(), s.GetMarket()))))
		}
		return words
	})
}

// completeSheet offers sheets for the first so many arguments.
func (a *app) completeSheet(most int) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) >= most {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		if strings.Contains(typed, "@") {
			return a.completeRevision(cmd, nil, typed)
		}
		return a.completeSpec(cmd, nil, typed)
	}
}

// completeRevision offers specs, each with an "@" for the number to follow, and
// behind that its revisions.
func (a *app) completeRevision(cmd *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	spec, _, numbered := strings.Cut(typed, "@")
	if !numbered {
		words, directive := a.completeSpec(cmd, nil, typed)
		for i, word := range words {
			name, description, _ := strings.Cut(word, "\t")
			words[i] = cobra.CompletionWithDesc(name+"@", description)
		}
		return words, directive | cobra.ShellCompDirectiveNoSpace
	}
	return a.ask(func(c *client) []cobra.Completion {
		revisions, err := listRevisions(cmd.Context(), c, place{}, specRef{spec: spec})
		if err != nil {
			return nil
		}
		var words []cobra.Completion
		for _, r := range revisions {
			words = append(words, cobra.CompletionWithDesc(specRef{spec, r.GetRevision()}.String(), layout.Clean(r.GetChangeNote())))
		}
		return words
	})
}

// completeOptions offers a sheet, and behind it its options that are not given
// yet.
func (a *app) completeOptions(cmd *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return a.completeSheet(1)(cmd, args, typed)
	}
	ref, err := parseSpec(args[0])
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.ask(func(c *client) []cobra.Completion {
		answer, err := call(cmd.Context(), c, place{}, c.specs.GetSpec, &pb.GetSpecRequest{Name: ref.name()})
		if err != nil {
			return nil
		}
		var words []cobra.Completion
		for _, o := range answer.GetSheet().GetOptions() {
			if !slices.Contains(args[1:], o.GetId()) {
				words = append(words, cobra.CompletionWithDesc(layout.Clean(o.GetId()), layout.Clean(o.GetDisplayName())))
			}
		}
		return words
	})
}

// completeSetup offers the newest stored set-ups.
func (a *app) completeSetup(cmd *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.ask(func(c *client) []cobra.Completion {
		answer, err := call(cmd.Context(), c, place{}, c.setups.ListSetups, &pb.ListSetupsRequest{PageSize: 20})
		if err != nil {
			return nil
		}
		var words []cobra.Completion
		for _, s := range answer.GetSetups() {
			words = append(words, cobra.CompletionWithDesc(layout.Clean(path.Base(s.GetName())),
				layout.Clean(phrase.Name(s.GetReport().GetVerdict())+" "+s.GetRecord().GetUnit().GetVin())))
		}
		return words
	})
}

// completeFormula offers the formulas, and behind one of them its inputs that
// are not given yet, with their choices where there are some.
func (a *app) completeFormula(cmd *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	directive := cobra.ShellCompDirectiveNoFileComp
	words, _ := a.ask(func(c *client) []cobra.Completion {
		answer, err := call(cmd.Context(), c, place{}, c.workshop.ListFormulas, &pb.ListFormulasRequest{})
		if err != nil {
			return nil
		}
		var words []cobra.Completion
		for _, f := range answer.GetFormulas() {
			switch {
			case len(args) == 0:
				words = append(words, cobra.CompletionWithDesc(layout.Clean(f.GetName()), layout.Clean(f.GetDescription())))
			case f.GetName() == args[0]:
				directive |= cobra.ShellCompDirectiveNoSpace
				words = inputWords(f, args[1:], typed)
			}
		}
		return words
	})
	return words, directive
}

// inputWords are the inputs of a formula that are not among the arguments, each
// with its "=". Once that is typed, they are the choices of the input.
func inputWords(f *pb.Formula, given []string, typed string) []cobra.Completion {
	var words []cobra.Completion
	for _, in := range f.GetInputs() {
		name := layout.Clean(in.GetName()) + "="
		switch {
		case slices.ContainsFunc(given, func(arg string) bool { return strings.HasPrefix(arg, name) }):
		case strings.HasPrefix(typed, name):
			for _, choice := range in.GetChoices() {
				words = append(words, name+layout.Clean(choice))
			}
		default:
			words = append(words, cobra.CompletionWithDesc(name, layout.Clean(in.GetDescription())))
		}
	}
	return words
}

// completeFiles offers files that may be records.
func completeFiles(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
	return []cobra.Completion{"yaml", "yml", "json"}, cobra.ShellCompDirectiveFilterFileExt
}
