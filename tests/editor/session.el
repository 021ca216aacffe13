;;; session.el --- what Emacs shows with the configuration of examples/editors/ -*- lexical-binding: t -*-

;; Run by `tests/editor/run' in a copy of the example workshop; the first argument is the folder of the configuration.
;; eglot and yaml-mode are taken from Debian's packages.

(let ((default-directory "/usr/share/emacs/site-lisp/elpa/"))
  (when (file-directory-p default-directory) (normal-top-level-add-subdirs-to-load-path)))
(add-to-list 'load-path (pop command-line-args-left))
(require 'yaml-mode)
(require 'witnessmark)
(setq eglot-connect-timeout 60 eglot-sync-connect 60)

(defconst workshop default-directory "The folder of the copied workshop.")

(defun expect (what holds)
  "Ends the run where WHAT does not HOLDS."
  (unless holds (message "not so: %s" what) (kill-emacs 1)))

(defun visit (file)
  "Opens FILE as a command would, which a run without a screen has none of."
  (find-file (expand-file-name file workshop))
  (unless (eglot-managed-p) (apply #'eglot (eglot--guess-contact)))
  (expect (concat file " is served") (eglot-managed-p)))

(defun wait (holds)
  "Waits half a minute until HOLDS."
  (with-timeout (30 nil) (while (not (funcall holds)) (accept-process-output nil 0.1)) t))

(defun said-at (line)
  "What is said of a LINE."
  (cl-remove-if-not (lambda (one) (= line (line-number-at-pos (flymake-diagnostic-beg one)))) (flymake-diagnostics)))

(defun ask (method)
  "What METHOD answers of this buffer at point."
  (eglot--signal-textDocument/didChange)
  (jsonrpc-request (eglot-current-server) method (eglot--TextDocumentPositionParams)))

(visit "jobs/K-2045-sump-screw-too-tight.yaml")
(expect "the screw that is too tight is said" (wait (lambda () (said-at 58))))
(expect "with what is required" (string-match-p "10 Nm ± 10 %" (flymake-diagnostic-text (car (said-at 58)))))
(goto-char (point-min))
(search-forward "torque: 12")
(expect "the torque in other units" (string-match-p "8.851 lbf·ft" (format "%S" (ask :textDocument/hover))))
(goto-char (point-min))
(search-forward "role: sump screw")
(insert "x")
(eglot--signal-textDocument/didChange)
(let* ((ends (lambda (at) (eglot--pos-to-lsp-position at)))
       (line (list :start (funcall ends (line-beginning-position)) :end (funcall ends (line-end-position))))
       (asked (list :textDocument (eglot--TextDocumentIdentifier) :range line :context (list :diagnostics [])))
       (offered (jsonrpc-request (eglot-current-server) :textDocument/codeAction asked)))
  (expect "the name is corrected" (string-match-p "Write `sump screw`" (format "%S" offered))))
(set-buffer-modified-p nil)

(visit "jobs/K-2054-still-in-work.yaml")
(goto-char (point-max))
(insert "pho")
(expect "a field is completed" (string-match-p "photographs" (format "%S" (ask :textDocument/completion))))
(set-buffer-modified-p nil)

(visit "house.standard")
(expect "rules and records have one server"
        (= 1 (length (apply #'append (hash-table-values eglot--servers-by-project)))))
(goto-char (point-min))
(insert "let  a=1\n")
(eglot-format-buffer)
(goto-char (point-min))
(expect "rules are laid out" (looking-at-p "let a = 1$"))
(set-buffer-modified-p nil)
(message "all is well in Emacs %s" emacs-version)
