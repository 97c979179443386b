-- One session in Ardour, without display and sound card, as outside_hosts.py asks by the environment:
--   STEP=make  a new session: tempo and meter change, a track with a song and the plugin, a track that records it
--   STEP=play  a second process opens it, records again, and then stops, jumps, bypasses and loops in the middle of notes
-- What came out goes to stdout: "TAKE path" for a recording, "label clock place bytes" for what the taps saw.
-- Tried with Ardour 7.3. Sources of its Lua names: the manual's class reference and the program itself.

local env = os.getenv
local ui = ARDOUR.TransportRequestSource.TRS_UI
local no_group = PBD.GroupControlDisposition.NoGroup
local locate = ARDOUR.LocateTransportDisposition
local quarters_recorded = 20
local session, source, recorder, plugin

-- Time and transport -----------------------------------------------------------------------------------------------

local function nap(seconds) ARDOUR.LuaAPI.usleep(math.floor(seconds * 1e6)) end

-- A place in quarters; Ardour counts 1920 ticks to one.
local function at(quarters) return Temporal.timepos_t.from_ticks(math.floor(quarters * 1920)) end

local function roll_until(quarters)
  for _ = 1, 6000 do
    if session:transport_sample() >= at(quarters):samples() then return end
    nap(.005)
  end
  error("the transport does not move")
end

local function roll_to(quarters)
  session:request_roll(ui)
  roll_until(quarters)
end

local function stop()
  session:request_stop(false, false, ui)
  nap(.8)
end

local function go_to(quarters)
  session:request_locate(at(quarters):samples(), false, locate.MustStop, ui)
  nap(.4)
end

-- Until the transport has run backwards so often.
local function rounds(most)
  local before, seen = -1, 0
  for _ = 1, 12000 do
    local now = session:transport_sample()
    if now < before then seen = seen + 1 end
    before = now
    if seen == most then return end
    nap(.005)
  end
  error("the loop does not go round")
end

local function save() return session:save_state("", false, false, false, false, false) end

-- Tracks and parameters --------------------------------------------------------------------------------------------

local function new_track(name)
  local midi = ARDOUR.ChanCount(ARDOUR.DataType("midi"), 1)
  local tracks = session:new_midi_track(midi, midi, true, ARDOUR.PluginInfo(), nil, nil, 1, name,
    ARDOUR.PresentationInfo.max_order, ARDOUR.TrackMode.Normal, true)
  return tracks:front()
end

-- The control of a parameter by its name: the one way that finds those of both formats.
local function control_of(name)
  local automatable = plugin:to_automatable()
  for parameter in automatable:all_automatable_params():iter() do
    local control = automatable:automation_control(parameter, true)
    if not control:isnil() and control:desc().label == name then return control end
  end
  error("no parameter " .. name)
end

-- Recording --------------------------------------------------------------------------------------------------------

-- Arms the track, rolls from the start while `perform` runs; returns the region and says where its file is.
local function record(track, perform)
  track:rec_enable_control():set_value(1, no_group)
  go_to(0)
  session:maybe_enable_record(false)
  perform()
  stop()
  session:disable_record(false, true)
  track:rec_enable_control():set_value(0, no_group)
  save() -- before this the file's times are not right
  local region
  for any in track:to_track():playlist():region_list():iter() do region = any:to_midiregion() end
  print("TAKE", region:source(0):to_filesource():path())
  return region
end

-- The notes of a MIDI file as {channel, start, length, key, velocity}, in the file's ticks; and its resolution.
local function notes_of(path)
  local file = assert(io.open(path, "rb"))
  local data = file:read("a")
  file:close()
  local notes, resolution, chunk = {}, string.unpack(">I2", data, 13), 15
  while chunk < #data do
    local id, length = data:sub(chunk, chunk + 3), string.unpack(">I4", data, chunk + 4)
    local i, tick, status, open = chunk + 8, 0, 0, {}
    chunk = i + length
    local function variable()
      local value = 0
      while true do
        local byte = data:byte(i)
        i = i + 1
        value = value * 128 + (byte & 127)
        if byte < 128 then return value end
      end
    end
    while id == "MTrk" and i < chunk do
      tick = tick + variable()
      if data:byte(i) > 127 then
        status = data:byte(i)
        i = i + 1
      end
      if status >= 0xF0 then
        if status == 0xFF then i = i + 1 end
        local skipped = variable()
        i = i + skipped
      elseif status >= 0xC0 and status < 0xE0 then
        i = i + 1
      else
        local key, velocity = data:byte(i), data:byte(i + 1)
        local index = (status & 15) * 128 + key
        i = i + 2
        if status >= 0x90 and status < 0xA0 and velocity > 0 then
          open[index] = { tick, velocity }
        elseif status < 0xA0 and open[index] then
          local start, force = open[index][1], open[index][2]
          notes[#notes + 1] = { status & 15, start, tick - start, key, force }
          open[index] = nil
        end
      end
    end
  end
  return notes, resolution
end

-- Ardour imports no file without its editor: one note is recorded as a carrier, and its notes exchanged for the file's.
local function import(track, path, quarters)
  local keyboard = AudioEngine:get_port_by_name("x-virtual-keyboard"):to_asyncmidiport()
  local parser = ARDOUR.RawMidiParser()
  track:input():midi(0):connect("x-virtual-keyboard")
  local region = record(track, function()
    session:request_roll(ui)
    nap(.1)
    for _, byte in ipairs { 0x90, 1, 1, 0x80, 1, 0 } do
      if parser:process_byte(byte) then
        keyboard:write(parser:midi_buffer(), parser:buffer_size(), 0)
        nap(.05)
      end
    end
  end)
  track:input():midi(0):disconnect_all()
  local model = region:midi_source(0):model()
  local change = model:new_note_diff_command("import")
  for note in ARDOUR.LuaAPI.note_list(model):iter() do change:remove(note) end
  local notes, resolution = notes_of(path)
  local function beats(ticks)
    local whole = math.floor(ticks * 1920 / resolution + .5)
    return Temporal.Beats(whole // 1920, whole % 1920)
  end
  for _, n in ipairs(notes) do
    change:add(ARDOUR.LuaAPI.new_noteptr(n[1], beats(n[2]), beats(n[3]), n[4], n[5]))
  end
  model:apply_command(session, change)
  region:set_position(at(0))
  region:set_length(Temporal.timecnt_t.from_ticks(quarters * 1920))
end

-- A tap at this place among the track's processors; the returned function prints what came since it was last called.
local function tap(place)
  local processor, seen = ARDOUR.LuaAPI.new_luaproc(session, "MIDI Tap"), 0
  source:add_processor_by_index(processor, place, nil, true)
  return function(label)
    nap(.2)
    local memory = processor:to_insert():plugin(0):to_luaproc():shmem()
    local count, list = memory:atomic_get_int(0), memory:to_int(1):array()
    for i = seen * 5, count * 5 - 5, 5 do
      print(label, list[i + 1], list[i + 2], string.format("%02x %d %d", list[i + 3], list[i + 4], list[i + 5]))
    end
    seen = count
  end
end

-- The two steps ----------------------------------------------------------------------------------------------------

local function tempo_map()
  local map = Temporal.TempoMap
  local writable = map.fetch_writable and map.fetch_writable() or map.write_copy()
  writable:set_tempo(Temporal.Tempo(100, 100, 4), at(0))
  writable:set_meter(Temporal.Meter(4, 4), at(0))
  writable:set_meter(Temporal.Meter(3, 4), at(8))
  writable:set_tempo(Temporal.Tempo(150, 150, 4), at(8))
  map.update(writable)
  writable = nil
end

local function make()
  session = create_session(env "DIR", "session", 48000)
  for i = 0, 1 do -- else the master's unused outputs delay the recording by a quarter of a buffer
    session:master_out():output():audio(i):disconnect_all()
  end
  tempo_map()
  source, recorder = new_track("source"), new_track("recorder")
  import(source, env "SONG", quarters_recorded)
  for info in ARDOUR.LuaAPI.list_plugins():iter() do
    if info.name == env "NAME" and info.type == ARDOUR.PluginType[env "KIND"] then
      plugin = ARDOUR.LuaAPI.new_plugin(session, info.unique_id, info.type, "")
    end
  end
  assert(plugin, "Ardour has not found the plugin")
  source:add_processor_by_index(plugin, 0, nil, true)
  for name, value in (env "SET"):gmatch "([^=;]+)=([^;]+)" do control_of(name):set_value(tonumber(value), no_group) end
  nap(.3)
  recorder:input():midi(0):disconnect_all()
  recorder:input():midi(0):connect("source/midi_out 1")
  record(recorder, function() roll_to(quarters_recorded) end)
end

local function play()
  session = load_session(env "DIR", "session")
  source, recorder = session:route_by_name("source"), session:route_by_name("recorder")
  plugin = source:nth_plugin(0)
  record(recorder, function() roll_to(quarters_recorded) end)

  local came, went = tap(0), tap(2)
  local function show(label)
    came(label .. "-in")
    went(label .. "-out")
  end
  go_to(0)
  roll_to(2.4)
  stop()
  show("stop")

  go_to(0)
  roll_to(2.4)
  session:request_locate(at(12):samples(), false, locate.MustRoll, ui)
  nap(.1)
  roll_until(16.6)
  stop()
  show("jump")

  go_to(0)
  roll_to(2.4)
  print("bypassed-at", session:transport_sample())
  plugin:to_insert():enable(false)
  roll_until(5.4)
  print("enabled-at", session:transport_sample())
  plugin:to_insert():enable(true)
  roll_until(7.9)
  stop()
  show("bypass")

  go_to(0)
  session:request_play_loop(true, true)
  rounds(5)
  session:request_play_loop(false, false)
  stop()
  show("loop")
end

local backend = AudioEngine:set_backend("None (Dummy)", "tests", "")
backend:set_driver(env "SPEED" or "20x Speed")
backend:set_sample_rate(48000)
backend:set_buffer_size(256)
if env "STEP" == "make" then make() else play() end
close_session()
quit()
