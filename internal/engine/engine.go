package engine

import (
	"context"
	"io/fs"
	"runtime/debug"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
	"github.com/skidrule/skidrule/rules"
)

// Engine holds what is the same for every request: compiled built-in rules and the demo catalogue. It is safe for concurrent
// use.
type Engine struct {
	book *rulebook.Book
	demo map[string]*skidrulev1.CatalogueEntry
}

// New compiles the built-in rules.
func New() (*Engine, error) { return NewWith(rules.Files) }

// NewWith compiles the rules of a file system in place of the built-in ones.
func NewWith(files fs.FS) (*Engine, error) {
	loaded, err := rulebook.LoadFolder(files)
	if err != nil {
		return nil, err
	}
	book, err := rulebook.CompileFiles(loaded, false)
	if err != nil {
		return nil, err
	}
	return &Engine{book: book, demo: catalogue.Parts()}, nil
}

// Book is the built-in rules.
func (e *Engine) Book() *rulebook.Book { return e.book }

// Check answers a request. The error is a *RequestError for a request that cannot be answered, or the context's.
func (e *Engine) Check(ctx context.Context, request *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
	w, err := e.World(ctx, request)
	if err != nil {
		return nil, err
	}
	return e.CheckWorld(ctx, w, request.GetOptions())
}

// CheckWorld checks a design whose world was prepared by World with the same options, so that who asks for more than a check
// resolves the design and solves its cases once. Errors are those of Check.
func (e *Engine) CheckWorld(ctx context.Context, w *fact.World, o *skidrulev1.CheckOptions) (*skidrulev1.Report, error) {
	r, err := e.ask(ctx, w, o, o.GetView() == skidrulev1.ReportView_REPORT_VIEW_FULL)
	if err != nil {
		return nil, err
	}
	return r.report()
}

// ask asks the rules of a world that its options choose; with all set the answers hold every outcome.
func (e *Engine) ask(ctx context.Context, w *fact.World, o *skidrulev1.CheckOptions, all bool) (*reporter, error) {
	inner, span := Stage(ctx, "choose rules")
	book, err := e.choose(inner, o)
	span.End()
	if err != nil {
		return nil, err
	}
	named, err := NamedCases(w, "options.case_ids", o.GetCaseIds()...)
	if err != nil {
		return nil, err
	}
	asked := possible(w.Cases, named)
	inner, span = Stage(ctx, "ask rules")
	answers, err := askAll(inner, w, book, asked, all)
	span.End()
	if err != nil {
		return nil, err
	}
	return &reporter{until: ctx, world: w, answers: answers, options: o, asked: asked, rules: book}, nil
}

// World resolves the design of a request and prepares its facts. It ends soon after the context, which its facts watch as well: who
// asks them outside of rules defers [fact.Contain].
func (e *Engine) World(ctx context.Context, request *skidrulev1.CheckDesignRequest) (*fact.World, error) {
	_, span := Stage(ctx, "resolve")
	defer span.End()
	if request.GetDesign() == nil {
		return nil, Refuse("design", "", "the request has no design")
	}
	catalogues := plant.Catalogues{}
	if given := request.GetOptions().GetCatalogue(); given != nil {
		own, problems := plant.Index(given)
		if len(problems) > 0 {
			return nil, refuse("options.catalogue.", problems)
		}
		catalogues = append(catalogues, own)
	}
	catalogues = append(catalogues, e.demo)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p, problems, err := plant.ResolveUntil(ctx, request.GetDesign(), catalogues)
	if err != nil {
		return nil, err
	}
	if len(problems) > 0 {
		return nil, refuse("", problems)
	}
	cases, problems := operate.Cases(p)
	if len(problems) > 0 {
		return nil, refuse("", problems)
	}
	w := fact.NewWorld(p, cases)
	w.Until(ctx)
	w.StatedOnly = request.GetOptions().GetStatedOnly()
	if k, ok := ctx.Value(casesKey{}).(*operate.Kept); ok {
		w.Keep(k)
	}
	return w, nil
}

// Version is the version of the program that answers, from the build information.
func Version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "v1-development"
}
