-- What `tests/editor/run` has Neovim do.

local function say(text)
  io.stdout:write(text .. "\n")
end

local function check(is_so, what)
  if not is_so then
    say("FAILED: " .. what)
    vim.cmd("cquit")
  end
  say("ok: " .. what)
end

local function wait(what, is_so)
  check(vim.wait(60000, is_so, 20), what)
end

local function diagnostics()
  return vim.diagnostic.get(0)
end

local function has(text)
  for _, one in ipairs(diagnostics()) do
    if one.message:find(text, 1, true) then
      return one
    end
  end
end

local function ask(method, parameters)
  local answers = vim.lsp.buf_request_sync(0, method, parameters, 60000)
  for _, answer in pairs(answers or {}) do
    return answer.result
  end
end

-- A record with two screws too tight.
vim.cmd("edit jobs/K-2045-sump-screw-too-tight.yaml")
wait("a record is judged", function()
  return has("sump screw A3: 12 Nm at the fastener")
end)
local tight = has("sump screw A3: 12 Nm at the fastener")
check(tight.severity == vim.diagnostic.severity.ERROR and tight.code == "fastenings.torque_reached", "its rule is shown")

-- The screw is corrected.
local line = vim.api.nvim_buf_get_lines(0, tight.lnum, tight.lnum + 1, true)[1]
vim.api.nvim_buf_set_lines(0, tight.lnum, tight.lnum + 1, true, { (line:gsub("12 Nm", "10 Nm")) })
wait("what is corrected is judged anew", function()
  return not has("sump screw A3: 12 Nm")
end)

-- What the field is.
vim.api.nvim_win_set_cursor(0, { tight.lnum + 1, tight.col + 1 })
local hover = ask("textDocument/hover", vim.lsp.util.make_position_params())
check(hover and hover.contents.value:find("lbf·ft", 1, true), "a reading is shown in other units")

-- A new field is typed.
vim.api.nvim_buf_set_lines(0, tight.lnum + 1, tight.lnum + 1, true, { "    to" })
vim.api.nvim_win_set_cursor(0, { tight.lnum + 2, 5 })
local parameters = vim.lsp.util.make_position_params()
parameters.position.character = 6
local offers = ask("textDocument/completion", parameters)
check(offers and #offers.items > 5, "fields are offered")
vim.api.nvim_buf_set_lines(0, tight.lnum + 1, tight.lnum + 2, true, {})

-- Where the procedure is.
vim.cmd("edit! jobs/K-2041-six-speed.yaml")
wait("another record is judged", function()
  return #vim.lsp.buf_get_clients(0) > 0
end)
for number, text in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, true)) do
  local at = text:find("name: six-speed-sump-service", 1, true)
  if at then
    vim.api.nvim_win_set_cursor(0, { number, at + 7 })
  end
end
vim.lsp.buf.definition()
wait("the procedure is opened", function()
  return vim.api.nvim_buf_get_name(0):find("procedures/", 1, true)
end)

-- A rule file, with a name that nothing has.
vim.cmd("edit! house.standard")
wait("the rule file is attached", function()
  return #vim.lsp.get_active_clients() > 0 and vim.bo.filetype == "witnessmark-standard"
end)
local last = vim.api.nvim_buf_line_count(0)
vim.api.nvim_buf_set_lines(0, last, last, true, { "", "let new_limit = old_limit" })
wait("a name that nothing has is an error", function()
  return has("nothing is called `old_limit` here")
end)
local outline = ask("textDocument/documentSymbol", { textDocument = vim.lsp.util.make_text_document_params() })
check(#outline > 5, "the outline has the rules")

say("all is well")
vim.cmd("qall!")
