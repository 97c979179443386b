-- An Ardour processor that passes MIDI on and keeps a list of it in shared memory: for each message the clock since the
-- start, the place of the transport, and three bytes. ardour_session.lua reads it. Ardour loads it from its scripts folder.
ardour {
  ["type"] = "dsp",
  name = "MIDI Tap",
  category = "Utility",
  license = "GPLv3",
  author = "Seguente",
  description = [[Passes MIDI on and keeps a list of it.]]
}

local most = 8000 -- messages

function dsp_ioconfig()
  return { { midi_in = 1, midi_out = 1, audio_in = 0, audio_out = 0 } }
end

function dsp_params()
  return { { ["type"] = "input", name = "unused", min = 0, max = 1, default = 0 } }
end

function dsp_init(rate)
  self:shmem():allocate(5 * most + 2)
  self:shmem():atomic_set_int(0, 0)
  clock = 0
end

function dsp_configure(ins, outs)
  channels = outs
end

function dsp_runmap(buffers, in_map, out_map, frames, offset)
  ARDOUR.DSP.process_map(buffers, channels, in_map, out_map, frames, offset)
  local memory = self:shmem()
  local count, list = memory:atomic_get_int(0), memory:to_int(1):array()
  local midi = buffers:get_midi(in_map:get(ARDOUR.DataType("midi"), 0))
  for _, event in pairs(midi:table()) do
    if count < most then
      local bytes, at = event:buffer():array(), count * 5
      count = count + 1
      list[at + 1] = clock + event:time()
      list[at + 2] = Session:transport_sample() + event:time()
      for i = 1, 3 do list[at + 2 + i] = i <= event:size() and bytes[i] or 0 end
    end
  end
  memory:atomic_set_int(0, count)
  clock = clock + frames
end
