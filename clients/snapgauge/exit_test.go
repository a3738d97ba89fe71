package main

import (
	"context"
	"net"
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

func TestExitCodes(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		args string
		code int
		errs string // part of standard error, or empty for none at all
	}{
		{"check testdata/accept.yaml", 0, ""},
		{"check testdata/accept.json", 0, ""},
		{"check testdata/accept.yaml testdata/accept.json", 0, ""},
		{"check testdata/reject.yaml", 1, ""},
		{"check testdata/refer.yaml", 1, ""},
		{"check testdata/accept.yaml testdata/reject.yaml", 1, ""},
		{"check --expect testdata/accept.yaml testdata/reject.yaml", 0, ""},
		{"check --expect testdata/refer.yaml", 2, "testdata/refer.yaml: has no expectation"},
		{"check testdata/badunit.yaml testdata/reject.yaml", 2, `testdata/badunit.yaml:10:11: readings[1].unit: got "furlong", want a unit of torque`},
		{"check testdata/unknown-field.yaml", 2, `testdata/unknown-field.yaml:3:1: unknown field "tecnician"; did you mean technician?`},
		{"check testdata/no-spec.yaml", 2, "testdata/no-spec.yaml:1:39: no sheet covers Nonesuch 2026 US; did you mean Causeway 400?"},
		{"check testdata/nosuch.yaml", 2, "testdata/nosuch.yaml: no such file"},
		{"check testdata", 2, "testdata: this is a directory"},
		{"check", 2, "want at least one FILE"},
		{"check - -", 2, "given twice"},
		{"check --as-of yesterday testdata/accept.yaml", 2, `got "yesterday", want a date`},
		{"check --as-of 2026-05-01 testdata/accept.yaml", 0, ""},
		{"submit testdata/accept.yaml", 0, ""},
		{"submit testdata/reject.yaml", 1, ""},
		{"submit --request-id x testdata/accept.yaml", 2, "want a UUID"},
		{"submit --request-id 7c9e6679-7425-40de-944b-e07fc1f90ae7 testdata/accept.yaml testdata/reject.yaml", 2, "got 2 files, want one"},
		{"look causeway drain bolt", 0, ""},
		{"look causeway nothing", 1, ""},
		{"look causeway", 2, "want MODEL and WORDS"},
		{"specs", 0, ""},
		{"specs revisions ulverdale-causeway-400-2026-us", 0, ""},
		{"specs show ulverdale-causeway-400-2026-us", 0, ""},
		{"specs show a --revision 1 --as-of 2026-01-01", 2, "none of the others can be"},
		{"specs show ulverdale-causeway-400-2026-us@1 --revision 2", 2, "names a revision already"},
		{"specs show ulverdale-causeway-400-2026-us@1 --as-of 2026-01-01", 2, "want one or the other"},
		{"specs show a --revision -1", 2, "--revision: got -1, want 1 or more"},
		{"specs show Causeway", 2, `got "Causeway", want SPEC as snapgauge specs lists it`},
		{"specs show nosuch", 1, "snapgauge: no spec nosuch; did you mean ulverdale-causeway-400-2026-us?"},
		{"specs frobnicate", 2, `unknown command "frobnicate"`},
		{"specs history ulverdale-causeway-400-2026-us", 0, ""},
		{"specs history ulverdale-causeway-400-2026-us@1", 2, "want SPEC without a revision"},
		{"specs history nosuch", 1, "snapgauge: no spec nosuch"},
		{"specs history a b", 2, "got 2 arguments"},
		{"specs diff ulverdale-causeway-400-2026-us", 0, ""},
		{"specs diff ulverdale-causeway-400-2026-us@1", 1, "snapgauge: ulverdale-causeway-400-2026-us@1 is the first revision"},
		{"specs diff ulverdale-causeway-400-2026-us@9", 1, "snapgauge: there is no ulverdale-causeway-400-2026-us@9"},
		{"specs diff ulverdale-causeway-400-2026-us nosuch", 1, "no spec nosuch"},
		{"specs diff ulverdale-causeway-400-2026-us @0", 2, `got "ulverdale-causeway-400-2026-us@0"`},
		{"specs diff", 2, "want one sheet or two"},
		{"specs options ulverdale-causeway-400-2026-us big_tank", 0, ""},
		{"specs options ulverdale-causeway-400-2026-us big_tank small_tank", 1, ""},
		{"specs options ulverdale-causeway-400-2026-us BIG", 2, "snapgauge: OPTION: want small letters, digits and underscores"},
		{"specs options nosuch big_tank", 2, "no spec nosuch"},
		{"specs options ulverdale-causeway-400-2026-us", 2, "at least one OPTION"},
		{"specs publish testdata/sheets/good.yaml", 0, ""},
		{"specs publish testdata/sheets/derived.yaml --dry-run", 0, ""},
		{"specs publish testdata/sheets/good.yaml --etag stale", 2, "testdata/sheets/good.yaml: the newest revision is 2"},
		{"specs publish testdata/sheets/number.yaml", 2, "testdata/sheets/number.yaml:3:13: revision number: got 7, wanted 3"},
		{"specs publish testdata/sheets/nobase.yaml", 2, "testdata/sheets/nobase.yaml:2:17: there is no specs/nosuch/revisions/1 to build on"},
		{"specs publish testdata/sheets/bad.yaml", 2, "testdata/sheets/bad.yaml:14:16: sheet.characteristics[0].limits.lower: got 25, above the upper limit 22"},
		{"specs publish testdata/sheets/nosuch.yaml", 2, "testdata/sheets/nosuch.yaml: no such file"},
		{"specs publish testdata/accept.yaml", 2, `testdata/accept.yaml:1:1: unknown field "unit"`},
		{"specs publish testdata", 2, "testdata: this is a directory; want a spec sheet"},
		{"specs publish", 2, "want FILE"},
		{"specs lint testdata/sheets/good.yaml testdata/sheets/derived.yaml", 0, ""},
		{"specs lint testdata/sheets/bad.yaml testdata/sheets/good.yaml", 2, "testdata/sheets/bad.yaml:14:16: "},
		{"specs lint", 2, "want at least one FILE"},
		{"specs lint - -", 2, "given twice"},
		{"specs test testdata/sheets/good.yaml testdata/accept.yaml testdata/reject.yaml", 0, ""},
		{"specs test testdata/sheets/good.yaml testdata/wrong.yaml", 1, ""},
		{"specs test testdata/sheets/good.yaml testdata/refer.yaml", 2, "testdata/refer.yaml: has no expectation"},
		{"specs test testdata/sheets/bad.yaml testdata/wrong.yaml", 2, "testdata/sheets/bad.yaml:14:16: "},
		{"specs test testdata/sheets/nobase.yaml testdata/accept.yaml", 2, "testdata/sheets/nobase.yaml:2:17: "},
		{"specs test testdata/sheets/good.yaml", 2, "at least one RECORD"},
		{"specs test - -", 2, "given twice"},
		{"specs withdraw ulverdale-causeway-400-2026-us@2 --reason misprint", 0, ""},
		{"specs withdraw ulverdale-causeway-400-2026-us@2", 2, "--reason: want the reason"},
		{"specs withdraw ulverdale-causeway-400-2026-us --reason misprint", 2, "want a revision: ulverdale-causeway-400-2026-us@N"},
		{"specs withdraw nosuch@2 --reason misprint", 2, "no spec nosuch"},
		{"specs watch --sheets", 2, "--sheets: goes with -o json"},
		{"specs watch --from nonsense", 2, "snapgauge: --from: not a token of this service"},
		{"specs watch --server 127.0.0.1:1", 3, "no snapgauge server answers at 127.0.0.1:1: nothing listens there"},
		{"affected ulverdale-causeway-400-2026-us@2", 1, ""},
		{"affected ulverdale-causeway-400-2026-us@1", 0, ""},
		{"affected ulverdale-causeway-400-2026-us", 2, "want a revision: ulverdale-causeway-400-2026-us@N"},
		{"affected nosuch@1", 2, "no spec nosuch"},
		{"look nosuch drain", 1, "snapgauge: no model"},
		{"look causeway drain --vin bad", 2, "snapgauge: --vin: a VIN of 3 characters: wanted 17"},
		{"check --known yesterday testdata/accept.yaml", 2, `got "yesterday", want a date`},
		{"show abc", 0, ""},
		{"show nosuch", 1, `snapgauge: no such set-up: "nosuch"`},
		{"show NO/SUCH", 2, "snapgauge: want a name as snapgauge lists it"},
		{"list", 1, ""},
		{"list --filter nosuch=1", 2, "snapgauge: --filter: there is no field nosuch"},
		{"list --limit -1", 2, "--limit"},
		{"record new causeway", 0, ""},
		{"record new causeway 400", 2, "in quotes"},
		{"record new causeway --phase lunch", 2, "pre_delivery"},
		{"record", 2, "want a command"},
		{"record old", 2, `unknown command "old"`},
		{"plan causeway", 0, ""},
		{"plan", 2, "want MODEL"},
		{"plan causeway 400", 2, "in quotes"},
		{"plan causeway --altitude 900", 2, "--altitude: want --temperature as well"},
		{"plan causeway --humidity 60", 2, "--humidity: want --temperature as well"},
		{"plan causeway --temperature warm", 2, `something like 7, "7 C" or "45 F"`},
		{"plan causeway --temperature 5kg", 2, `got "5kg", want something like 7`},
		{"plan causeway --rider heavy", 2, "such as 82+11"},
		{"plan causeway --rider 82+", 2, "such as 82+11"},
		{"plan causeway --rider 82mm", 2, "such as 82+11"},
		{"plan causeway --rider 8", 2, "snapgauge: --rider (in kg): must be at least 20"},
		{"plan causeway --use racing", 2, "want trail or enduro or road"},
		{"plan causeway --phase lunch", 2, "pre_delivery"},
		{"plan causeway --vin bad", 2, "snapgauge: --vin: a VIN of 3 characters: wanted 17"},
		{"plan causeway --option a --option wings", 2, "snapgauge: --option: the sheet has no option wings"},
		{"calc", 0, ""},
		{"calc wrench-setting", 0, ""},
		{"calc wrench-setting torque=20", 0, ""},
		{"calc wrench-seting", 2, "snapgauge: there is no such formula; did you mean wrench-setting?"},
		{"calc wrench-seting torque=20", 2, "did you mean wrench-setting?"},
		{"calc wrench-setting wrench_length=20", 2, "snapgauge: torque: is missing"},
		{"calc wrench-setting 20", 2, `got "20", want NAME=VALUE`},
		{"calc wrench-setting =20", 2, "want NAME=VALUE"},
		{"calc wrench-setting torque=20 torque=30", 2, "torque is given twice"},
		{"sheet", 2, "want a command: job or handover"},
		{"sheet napkin", 2, `unknown command "napkin"`},
		{"sheet job causeway --out -", 0, ""},
		{"sheet job --record testdata/reject.yaml --out -", 0, ""},
		{"sheet job --setup abc --out -", 0, ""},
		{"sheet job", 2, "want one of MODEL, --record FILE and --setup NAME"},
		{"sheet job causeway --setup abc", 2, "got MODEL and --setup, want one of"},
		{"sheet job --record testdata/accept.yaml --setup abc", 2, "got --record and --setup, want one of"},
		{"sheet job --setup abc --rider 82", 2, "--rider: goes with MODEL, not with --setup"},
		{"sheet job --record testdata/accept.yaml --as-of 2026-01-01", 2, "--as-of: goes with MODEL, not with --record"},
		{"sheet job --record testdata/nosuch.yaml", 2, "testdata/nosuch.yaml: no such file"},
		{"sheet job --record testdata/badunit.yaml", 2, `testdata/badunit.yaml:10:11: readings[1].unit: got "furlong"`},
		{"sheet job causeway --vin bad", 2, "snapgauge: --vin: a VIN of 3 characters"},
		{"sheet job causeway --paper a3", 2, "want a4 or letter"},
		{"sheet job causeway --pdf --html", 2, "none of the others can be"},
		{"sheet job causeway -o job.pdf", 2, "a file is named with --out"},
		{"sheet job causeway -o json --out x", 2, "--out: not with -o json"},
		{"sheet job causeway --out testdata", 2, "testdata: this is a directory"},
		{"sheet job causeway --out testdata/nosuch/job.html", 2, "testdata/nosuch/job.html: there is no such directory"},
		{"sheet job causeway --out testdata/accept.yaml", 2, "testdata/accept.yaml: is there already; --force overwrites it"},
		{"sheet handover testdata/accept.yaml --out -", 0, ""},
		{"sheet handover testdata/reject.yaml --out -", 0, ""},
		{"sheet handover --setup abc --out -", 0, ""},
		{"sheet handover", 2, "want either FILE or --setup NAME"},
		{"sheet handover testdata/accept.yaml --setup abc", 2, "want either FILE or --setup NAME"},
		{"sheet handover testdata/no-spec.yaml", 2, "testdata/no-spec.yaml:1:39: no sheet covers"},
		{"sheet handover --rider 82 testdata/accept.yaml", 2, "unknown flag: --rider"},
		{"version", 0, ""},
		{"frobnicate", 2, `unknown command "frobnicate"`},
		{"specs --units furlongs", 2, "want metric or us"},
		{"specs -o xml", 2, "want table or json"},
		{"specs --color sometimes", 2, "want auto or always or never"},
		{"specs --timeout 0s", 2, "--timeout"},
		{"specs --server 127.0.0.1:1", 3, "no snapgauge server answers at 127.0.0.1:1: nothing listens there"},
		{"specs --server=", 2, "--server"},
		{"check testdata/accept.yaml testdata/nosuch.yaml --server 127.0.0.1:1", 3, "testdata/nosuch.yaml: no such file"},
	} {
		t.Run(test.args, func(t *testing.T) {
			code, _, errs := f.cli(t, strings.Fields(test.args)...)
			if code != test.code {
				t.Errorf("exit code %d, want %d; standard error: %s", code, test.code, errs)
			}
			if test.errs == "" && errs != "" || !strings.Contains(errs, test.errs) {
				t.Errorf("standard error %q, want %q", errs, test.errs)
			}
			for _, jargon := range []string{"rpc error", "code =", "desc =", "transport:", "dial tcp"} {
				if strings.Contains(errs, jargon) {
					t.Errorf("standard error has %q: %s", jargon, errs)
				}
			}
		})
	}
}

func TestStatusesOfTheServer(t *testing.T) {
	f := newFake(t)
	for code, want := range map[codes.Code]int{
		codes.InvalidArgument:    2,
		codes.NotFound:           2,
		codes.FailedPrecondition: 2,
		codes.AlreadyExists:      2,
		codes.PermissionDenied:   2,
		codes.Unavailable:        3,
		codes.DeadlineExceeded:   3,
		codes.Internal:           3,
		codes.Unknown:            3,
		codes.Unimplemented:      3,
		codes.ResourceExhausted:  3,
	} {
		f.fail = status.Error(code, "said\x1b[31m\nby the server")
		got, _, errs := f.cli(t, "check", "testdata/accept.yaml")
		if got != want {
			t.Errorf("%s: exit code %d, want %d", code, got, want)
		}
		if strings.Contains(errs, "\x1b") || strings.Count(errs, "\n") != 1 || !strings.HasPrefix(errs, "testdata/accept.yaml:") {
			t.Errorf("%s: standard error %q, want one clean line about the file", code, errs)
		}
	}
}

// A server that takes the connection and never says anything is one that does
// not answer.
func TestSilentServer(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = listener.Close() }()
	code, _, errs := run(t, world{}, "specs", "--server", listener.Addr().String(), "--timeout", "100ms")
	if code != 3 || !strings.Contains(errs, "did not answer within 100ms") {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
}

func TestInterrupted(t *testing.T) {
	f := newFake(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs strings.Builder
	a := &app{
		in: strings.NewReader(""), out: &out, err: &errs,
		env:      func(string) string { return "" },
		terminal: func() (int, bool) { return 0, false },
	}
	code := a.run(ctx, []string{"check", "--server", f.address, "testdata/accept.yaml", "testdata/reject.yaml"})
	if code != 130 || errs.String() != "snapgauge: interrupted\n" {
		t.Errorf("exit code %d, standard error %q", code, errs.String())
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, context.DeadlineExceeded }

func TestAnswerThatCannotBeWritten(t *testing.T) {
	f := newFake(t)
	var errs strings.Builder
	a := &app{
		in: strings.NewReader(""), out: fullDisk{}, err: &errs,
		env:      func(string) string { return "" },
		terminal: func() (int, bool) { return 0, false },
	}
	if code := a.run(t.Context(), []string{"check", "--server", f.address, "testdata/accept.yaml"}); code != 2 {
		t.Errorf("exit code %d, want 2; standard error %q", code, errs.String())
	}
}
