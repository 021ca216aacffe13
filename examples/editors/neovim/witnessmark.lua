-- Put this file into ~/.config/nvim/plugin/ (Neovim 0.7 or later). `witnessmark` must be on the path.

vim.api.nvim_create_autocmd({ "BufRead", "BufNewFile" }, {
  pattern = "*.standard",
  callback = function()
    vim.bo.filetype = "witnessmark-standard"
    vim.bo.commentstring = "# %s"
  end,
})

-- The folder with the workshop's settings is the workspace; without any, that of the file.
local function workspace(file)
  local folder = vim.fn.fnamemodify(file, ":p:h")
  local settings = vim.fn.findfile("workshop.yaml", vim.fn.fnameescape(folder) .. ";")
  return settings == "" and folder or vim.fn.fnamemodify(settings, ":p:h")
end

-- The keys that later versions of Neovim have of their own.
local function attached(client, buffer)
  local function map(keys, does)
    vim.keymap.set("n", keys, does, { buffer = buffer })
  end
  map("K", vim.lsp.buf.hover)
  map("gd", vim.lsp.buf.definition)
  map("grr", vim.lsp.buf.references)
  map("grn", vim.lsp.buf.rename)
  map("gra", vim.lsp.buf.code_action)
  -- What the cursor is on is completed with Ctrl-X Ctrl-O.
  vim.bo[buffer].omnifunc = "v:lua.vim.lsp.omnifunc"
  -- Above each rule stands what its trials come to; on its line `grl` runs them.
  if vim.bo[buffer].filetype == "witnessmark-standard" then
    map("grl", vim.lsp.codelens.run)
    vim.api.nvim_create_autocmd({ "BufEnter", "InsertLeave", "BufWritePost" }, {
      buffer = buffer,
      callback = function()
        pcall(vim.lsp.codelens.refresh)
      end,
    })
    vim.schedule(function()
      pcall(vim.lsp.codelens.refresh)
    end)
  end
  if vim.lsp.inlay_hint then
    pcall(vim.lsp.inlay_hint.enable, true, { bufnr = buffer })
  end
end

local clients = {}

vim.api.nvim_create_autocmd("FileType", {
  pattern = { "yaml", "witnessmark-standard" },
  callback = function(event)
    local file = vim.api.nvim_buf_get_name(event.buf)
    if file == "" then
      return
    end
    if vim.fn.executable("witnessmark") == 0 then
      return vim.notify_once("witnessmark is not on the path, so nothing is checked here", vim.log.levels.WARN)
    end
    local root = workspace(file)
    local config = { name = "witnessmark", cmd = { "witnessmark", "editor" }, root_dir = root, on_attach = attached }
    -- After its end the next file starts it anew.
    config.on_exit = function()
      clients[root] = nil
    end
    if vim.lsp.start then
      return vim.lsp.start(config, { bufnr = event.buf })
    end
    -- Before Neovim 0.8.
    clients[root] = clients[root] or vim.lsp.start_client(config)
    vim.lsp.buf_attach_client(event.buf, clients[root])
  end,
})
