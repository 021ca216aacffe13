;;; witnessmark.el --- records and rules, checked while they are typed -*- lexical-binding: t -*-

;; Put this file on the `load-path' and (require 'witnessmark). Emacs 29 has eglot; before, install it.
;; `witnessmark' must be on the path. It is started where a rule file or a YAML file is visited.

(require 'eglot)

(defvar witnessmark-standard-words
  '("standard" "edition" "use" "let" "parameter" "table" "given" "rule" "judges" "where" "concerns"
    "demands" "otherwise" "remedy" "because" "basis" "concession" "if" "unrecorded" "from" "until"
    "replaces" "trial" "each" "in" "is" "not" "one" "of" "within" "and" "or" "implies" "recorded"
    "every" "some" "at" "least" "most" "above" "below" "before" "after" "by" "for" "count" "sum" "over")
  "Words of the rule language that are shown as such.")

(define-derived-mode witnessmark-standard-mode prog-mode "Standard"
  "Rules for service records."
  (setq-local comment-start "# ")
  (modify-syntax-entry ?# "<" witnessmark-standard-mode-syntax-table)
  (modify-syntax-entry ?\n ">" witnessmark-standard-mode-syntax-table)
  (setq-local font-lock-defaults (list (list (regexp-opt witnessmark-standard-words 'symbols)))))

(add-to-list 'auto-mode-alist '("\\.standard\\'" . witnessmark-standard-mode))

;; The folder with the workshop's settings is the workspace.
(defun witnessmark-project (folder)
  "The workshop that FOLDER is of."
  (let ((home (locate-dominating-file folder "workshop.yaml")))
    (and home (cons 'transient (expand-file-name home)))))
(add-hook 'project-find-functions #'witnessmark-project)

;; In one entry, so that rules and records have one server: a record is judged by the rules as they are typed.
(add-to-list 'eglot-server-programs
             '((witnessmark-standard-mode yaml-mode yaml-ts-mode) "witnessmark" "editor"))
(dolist (hook '(witnessmark-standard-mode-hook yaml-mode-hook yaml-ts-mode-hook))
  (add-hook hook #'eglot-ensure))

(provide 'witnessmark)
;;; witnessmark.el ends here
