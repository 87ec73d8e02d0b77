-- The language server as Neovim's own client meets it: findings, hover, definition, rename, formatting, code action.
-- `neovim.sh` runs it, with the program on the path, and README and a folder of plans in the environment. Works with Neovim 0.7 and later.

local folder = assert(os.getenv("PLANS"), "PLANS names a folder")

local function fail(message)
  io.stderr:write("neovim: " .. message .. "\n")
  vim.cmd("cquit 1")
end

local function check(holds, message)
  if not holds then
    fail(message)
  end
end

local function wait(what, condition)
  if not vim.wait(20000, condition, 20) then
    fail("waited in vain for " .. what)
  end
end

local client
if vim.lsp.start then
  -- As README tells an editor's user to do it, by the very lines it shows.
  local readme = assert(os.getenv("README"), "README names the page")
  local shown = assert(io.open(readme)):read("*a"):match("```lua\n(.-)```")
  assert(shown, "README shows no Lua")
  assert(loadstring(shown))()
else
  vim.cmd([[
    autocmd BufRead,BufNewFile *.lay  setfiletype layrule
    autocmd BufRead,BufNewFile *.rule setfiletype layrule-rule
  ]])
  vim.api.nvim_create_autocmd("FileType", {
    pattern = { "layrule", "layrule-rule" },
    callback = function()
      client = client
        or vim.lsp.start_client({ name = "layrule", cmd = { "layrule", "language-server" }, root_dir = folder })
      vim.lsp.buf_attach_client(0, client)
    end,
  })
end

local function run()
  vim.cmd("edit " .. folder .. "/bath.lay")
  check(vim.bo.filetype == "layrule", "no file type")
  local buffer = vim.api.nvim_get_current_buf()
  local function found(code)
    return vim.tbl_filter(function(one)
      return one.code == code or (one.user_data and one.user_data.lsp and one.user_data.lsp.code == code)
    end, vim.diagnostic.get(buffer))
  end
  wait("findings", function()
    return #found("wall-clearance") > 0
  end)
  local attached = (vim.lsp.get_clients or vim.lsp.get_active_clients)()
  check(#attached == 1 and attached[1].name == "layrule", "another client")
  client = attached[1].id
  local finding = found("wall-clearance")[1]
  check(finding.source == "layrule" and finding.severity == vim.diagnostic.severity.ERROR, "another finding")

  local function line_of(part)
    for number, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
      local column = line:find(part, 1, true)
      if column then
        return number - 1, column - 1
      end
    end
    fail("no `" .. part .. "` in the plan")
  end
  local function at(part, more)
    local line, column = line_of(part)
    return vim.tbl_extend("error", {
      textDocument = vim.lsp.util.make_text_document_params(buffer),
      position = { line = line, character = column },
    }, more or {})
  end
  local function ask(method, parameters)
    local answers, failure = vim.lsp.buf_request_sync(buffer, method, parameters, 20000)
    check(answers, method .. ": " .. tostring(failure))
    local answer = answers[client]
    -- Neovim 0.11 and later call it `err`.
    check(answer and not answer.error and not answer.err, method .. ": " .. vim.inspect(answer))
    return answer.result
  end
  local encoding = attached[1].offset_encoding

  check(ask("textDocument/hover", at("run    east")).contents.value:find("run 1 of cable a", 1, true), "no hover")
  local given = ask("textDocument/definition", at("W-20"))[1]
  check(given.uri:match("kits%.lay$"), "the kit is given elsewhere: " .. vim.inspect(given))

  local edit = ask("textDocument/rename", at("a {", { newName = "north-loop" }))
  vim.lsp.util.apply_workspace_edit(edit, encoding)
  line_of("cable north-loop")

  local line = line_of("run    east")
  local actions = ask("textDocument/codeAction", {
    textDocument = vim.lsp.util.make_text_document_params(buffer),
    range = { start = { line = line, character = 4 }, ["end"] = { line = line, character = 5 } },
    context = { diagnostics = {} },
  })
  local agree = vim.tbl_filter(function(action)
    return action.title:find("Agree to `wall-clearance`", 1, true)
  end, actions)[1]
  check(agree, "no action: " .. vim.inspect(actions))
  vim.lsp.util.apply_workspace_edit(agree.edit, encoding)
  line_of('deviation wall-clearance cable north-loop ""')

  -- An editor's own edits, which it sends bit by bit.
  local row, column = line_of('""')
  vim.api.nvim_buf_set_text(buffer, row, column + 1, row, column + 1, { "boxed pipe, agreed on site (Süd 🜂)" })
  wait("the finding to be agreed to", function()
    return #found("wall-clearance") > 0 and found("wall-clearance")[1].severity == vim.diagnostic.severity.HINT
  end)

  local before = vim.api.nvim_buf_get_lines(buffer, 0, -1, false)
  local options = vim.lsp.util.make_formatting_params({}).options
  local edits = ask("textDocument/formatting", { textDocument = vim.lsp.util.make_text_document_params(buffer), options = options })
  vim.lsp.util.apply_text_edits(edits, buffer, encoding)
  local after = vim.api.nvim_buf_get_lines(buffer, 0, -1, false)
  check(table.concat(before, "\n") ~= table.concat(after, "\n"), "nothing was laid out")
  vim.cmd("silent write! " .. folder .. "/laid-out.lay")

  local pack = folder .. "/ours.rule"
  vim.cmd("edit! " .. pack)
  buffer = vim.api.nvim_get_current_buf()
  wait("the pack's fault", function()
    return #found("rule-pack") == 1
  end)

  vim.lsp.stop_client(client)
  wait("the server to end", function()
    return vim.lsp.get_client_by_id(client) == nil
  end)
  io.stdout:write("neovim " .. tostring(vim.version().major) .. "." .. tostring(vim.version().minor)
    .. ": findings, hover, definition, rename, code action, formatting\n")
end

local held, failure = pcall(run)
if not held then
  fail(failure)
end
vim.cmd("qall!")
