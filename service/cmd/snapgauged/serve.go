package main

import (
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"golang.org/x/sync/errgroup"

	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/server"
)

// shutdownTime is what calls under way are given to finish.
const shutdownTime = 10 * time.Second

// serve wires everything together and serves until ctx ends. What it opened is
// closed again when it returns.
func serve(ctx context.Context, cfg config, log *slog.Logger) (err error) {
	revisions, err := loadSheets(cfg.sheets) // bad ones are refused before the store is touched
	if err != nil {
		return err
	}
	kept, label, remove, err := openStore(ctx, cfg.store)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, kept.Close(), remove()) }()
	live, err := catalogue.Open(ctx, kept, catalogue.Config{Log: log})
	if err != nil {
		return err
	}
	defer live.Close()
	if err := seed(ctx, live, cfg.sheets, revisions, log); err != nil {
		return err
	}

	registry := prometheus.NewRegistry()
	registry.MustRegister(
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	service, err := server.New(server.Config{
		Catalogue: live,
		Store:     kept,
		Log:       log,
		Metrics:   registry,
	})
	if err != nil {
		return err
	}

	if cfg.addressFile != "" {
		// One of an earlier run would send callers to the wrong place.
		if err := removeFile(cfg.addressFile); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, removeFile(cfg.addressFile)) }()
	}
	listener, err := net.Listen("tcp", cfg.listen)
	if err != nil {
		return err
	}
	defer listener.Close() // again, where the server has closed it
	group, groupCtx := errgroup.WithContext(ctx)
	if cfg.metricsListen != "" {
		metricsListener, err := net.Listen("tcp", cfg.metricsListen)
		if err != nil {
			return err
		}
		log.Info("metrics", "address", metricsListener.Addr().String())
		group.Go(func() error {
			return serveMetrics(groupCtx, metricsListener, registry, service.Ready)
		})
	}
	// It ends with an error when the store is no longer the one that it was: what
	// is in use cannot be relied on then, and a new process is the way out.
	group.Go(func() error { return live.Run(groupCtx) })
	group.Go(func() error { return service.Serve(groupCtx, listener) })
	group.Go(func() error {
		<-groupCtx.Done()
		log.Info("shutting down")
		bounded, cancel := context.WithTimeout(context.WithoutCancel(groupCtx), shutdownTime)
		defer cancel()
		if err := service.Shutdown(bounded); err != nil {
			log.Warn("calls were cut off", "after", shutdownTime)
		}
		return nil
	})
	group.Go(func() error {
		address := listener.Addr().String()
		log.Info("listening", "address", address, "store", label)
		if !isLoopback(listener.Addr()) {
			log.Warn("others can reach this address, and calls are neither encrypted nor authenticated", "address", address)
		}
		if cfg.addressFile == "" {
			return nil
		}
		return writeWhole(cfg.addressFile, address+"\n")
	})
	return group.Wait()
}

func isLoopback(address net.Addr) bool {
	tcp, ok := address.(*net.TCPAddr)
	return ok && tcp.IP.IsLoopback()
}

// removeFile is os.Remove, except that a file may be gone already.
func removeFile(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// writeWhole puts a file in place in one step: who waits for it never reads a
// part.
func writeWhole(path, text string) error {
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	_, err = part.WriteString(text)
	if err = errors.Join(err, part.Close()); err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	return nil
}
