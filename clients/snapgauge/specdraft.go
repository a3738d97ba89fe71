package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/codes"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

func (a *app) specDraftCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "draft",
		Short: "Keep a sheet that is being worked on",
		Long: `Keeps a sheet that is being worked on with the server, for others to go on with:
one for each spec. Nothing is judged by it, and it may be wrong.`,
	}
	cmd.AddCommand(a.draftSaveCommand(), a.draftShowCommand(), a.draftDropCommand())
	return cmd
}

func (a *app) draftSaveCommand() *cobra.Command {
	var etag string
	cmd := &cobra.Command{
		Use:   "save FILE",
		Short: "Keep a sheet as the draft of its spec",
		Long: `Keeps a sheet (YAML or JSON; - is standard input), whole or derived, as the draft
of its spec, and says what publishing it would refuse. --etag names the draft that
its author saw; without it the one there is at this moment is replaced.`,
		Example:           `  snapgauge specs draft save 2026-eu-r4.yaml`,
		Args:              exactly(1, "want FILE, or - for standard input"),
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := a.readSpecFile(args[0])
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			if etag == "" && f.ref().spec != "" {
				if etag, err = draftEtag(cmd.Context(), c, f.ref()); err != nil {
					return err
				}
			}
			answer, err := call(cmd.Context(), c, f.place, c.specs.SaveSpecDraft, &pb.SaveSpecDraftRequest{File: f.sheet, Etag: etag})
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.DraftSaved(answer, a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&etag, "etag", "", "etag of the draft as its author saw it (default: that of the draft there is)")
	must(cmd.RegisterFlagCompletionFunc("etag", cobra.NoFileCompletions))
	return cmd
}

func (a *app) draftShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "show SPEC",
		Short: "Print a draft as YAML",
		Long: `Prints the draft of a spec as a whole sheet in YAML, which specs publish and specs
draft save take.`,
		Example:           `  snapgauge specs draft show varnholt-scree-200i-2026-eu > draft.yaml`,
		Args:              exactly(1, "want SPEC"),
		ValidArgsFunction: a.completeSpec,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, answer, err := a.openDraft(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			defer c.close()
			if a.json() {
				return a.showJSON(answer)
			}
			sheet, err := document.Encode(&pb.SheetFile{Content: &pb.SheetFile_Sheet{Sheet: answer.GetDraft().GetSheet()}})
			if err != nil {
				return fmt.Errorf("the draft cannot be written: %w", err)
			}
			a.show(string(sheet))
			return nil
		},
	}
}

func (a *app) draftDropCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "drop SPEC",
		Short:             "Remove a draft",
		Long:              `Removes the draft of a spec. What is published stays as it is.`,
		Example:           `  snapgauge specs draft drop varnholt-scree-200i-2026-eu`,
		Args:              exactly(1, "want SPEC"),
		ValidArgsFunction: a.completeSpec,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, draft, err := a.openDraft(cmd.Context(), args[0])
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.specs.DeleteSpecDraft, &pb.DeleteSpecDraftRequest{Name: draft.GetDraft().GetName(), Etag: draft.GetDraft().GetEtag()})
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(fmt.Sprintf("removed the draft of %s\n", draft.GetDraft().GetSheet().GetSpecId()))
			return nil
		},
	}
}

// openDraft gets the draft of the spec that was typed, and the client to go on
// with, which the caller closes unless there is an error.
func (a *app) openDraft(ctx context.Context, typed string) (*client, *pb.GetSpecDraftResponse, error) {
	ref, err := parseSpec(typed)
	if err != nil {
		return nil, nil, err
	}
	c, err := a.dial()
	if err != nil {
		return nil, nil, err
	}
	draft, err := call(ctx, c, place{}, c.specs.GetSpecDraft, &pb.GetSpecDraftRequest{Name: ref.draft()})
	if err != nil {
		c.close()
		return nil, nil, nothingFound(err)
	}
	return c, draft, nil
}

// draft is the resource name of the draft of the spec.
func (r specRef) draft() string { return r.parent() + "/draft" }

// draftEtag asks for the etag of the draft there is, empty where there is none.
func draftEtag(ctx context.Context, c *client, ref specRef) (string, error) {
	answer, err := call(ctx, c, place{}, c.specs.GetSpecDraft, &pb.GetSpecDraftRequest{Name: ref.draft()})
	if bad := (*failure)(nil); errors.As(err, &bad) && (bad.status == codes.NotFound || bad.status == codes.InvalidArgument) {
		return "", nil // what is wrong with its name is told when the sheet is handed in
	}
	return answer.GetDraft().GetEtag(), err
}
