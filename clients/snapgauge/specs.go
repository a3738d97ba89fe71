package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

const pageSize = 200

func (a *app) specsCommand() *cobra.Command {
	var filter string
	cmd := &cobra.Command{
		Use:   "specs",
		Short: "List spec sheets, their revisions and their content",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all, err := listSpecs(cmd.Context(), c, filter)
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(&pb.ListSpecsResponse{Specs: all})
			}
			a.show(render.Specs(all, a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&filter, "filter", "", `which, such as: model_year = 2026 AND market = "US"`)
	must(cmd.RegisterFlagCompletionFunc("filter", cobra.NoFileCompletions))
	cmd.AddCommand(a.revisionsCommand(), a.specShowCommand())
	return cmd
}

// listSpecs gets all specs, page by page.
func listSpecs(ctx context.Context, c *client, filter string) ([]*pb.Spec, error) {
	var all []*pb.Spec
	request := &pb.ListSpecsRequest{PageSize: pageSize, Filter: filter}
	for {
		answer, err := call(ctx, c, place{}, c.specs.ListSpecs, request)
		if err != nil {
			return nil, err
		}
		all = append(all, answer.GetSpecs()...)
		if request.PageToken = answer.GetNextPageToken(); request.PageToken == "" {
			return all, nil
		}
	}
}

func (a *app) revisionsCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "revisions SPEC",
		Short:             "List the revisions of a sheet, newest first, with what changed",
		Args:              exactly(1, "want SPEC, as snapgauge specs lists it"),
		ValidArgsFunction: a.completeSpec,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all := &pb.ListSpecRevisionsResponse{}
			request := &pb.ListSpecRevisionsRequest{Parent: specName(args[0], 0), PageSize: pageSize}
			for {
				answer, err := call(cmd.Context(), c, place{}, c.specs.ListSpecRevisions, request)
				if err != nil {
					return err
				}
				all.SpecRevisions = append(all.SpecRevisions, answer.GetSpecRevisions()...)
				if request.PageToken = answer.GetNextPageToken(); request.PageToken == "" {
					break
				}
			}
			if a.json() {
				return a.showJSON(all)
			}
			a.show(render.Revisions(all.GetSpecRevisions(), a.look()))
			return nil
		},
	}
}

func (a *app) specShowCommand() *cobra.Command {
	var (
		when     asOf
		revision int32
		options  []string
	)
	cmd := &cobra.Command{
		Use:               "show SPEC",
		Short:             "Show a whole sheet",
		Args:              exactly(1, "want SPEC, as snapgauge specs lists it"),
		ValidArgsFunction: a.completeSpec,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.specs.GetSpec, &pb.GetSpecRequest{
				Name: specName(args[0], revision), AsOfTime: when.time, Options: options,
			})
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Sheet(answer, a.look()))
			return nil
		},
	}
	addAsOf(cmd, &when, "the revision in force on another day than today")
	cmd.Flags().Int32Var(&revision, "revision", 0, "one revision (default: the one in force)")
	cmd.Flags().StringArrayVar(&options, "option", nil, "apply an option; repeat for more")
	cmd.MarkFlagsMutuallyExclusive("as-of", "revision")
	for _, name := range []string{"revision", "option"} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.NoFileCompletions))
	}
	return cmd
}

// specName makes a resource name of what was typed: the identifier of a spec
// or a resource name, with a revision where one is asked for.
func specName(typed string, revision int32) string {
	name := typed
	if !strings.HasPrefix(name, "specs/") {
		name = "specs/" + name
	}
	if revision != 0 {
		name += fmt.Sprintf("/revisions/%d", revision)
	}
	return name
}
