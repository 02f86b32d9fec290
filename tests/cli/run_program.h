#pragma once
// Runs the built program as a user's shell would.
#include <fcntl.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <memory>
#include <optional>
#include <regex>
#include <stdexcept>
#include <string>
#include <vector>

#include "../support/scratch_folder.h"

namespace slipglass::test {

struct Ran {
    int code = -1;  ///< exit code, as a shell gives it: 128 + signal when one ended it
    std::string out, err;

    /// What the program says on stderr, a line each, but for how far it is, which only slow runs say.
    std::vector<std::string> lines() const
    {
        std::vector<std::string> all;
        for (size_t from = 0; from < err.size();) {
            const size_t end = std::min(err.find('\n', from), err.size());
            const std::string line = err.substr(from, end - from);
            static const std::regex how_far("slipglass: [0-9]+ of [0-9]+ photos(,.*)?");
            if (!std::regex_match(line, how_far)) all.push_back(line);
            from = end + 1;
        }
        return all;
    }
};

class Program {
public:
    /// @param file_limit  largest file it may write, bytes, as on a disk that is full then.
    /// @param deaf        signals that it is started without hearing, as nohup does.
    /// @param longest_s   after so long SIGALRM ends it; 0: never.
    explicit Program(std::vector<std::string> arguments, std::optional<rlim_t> file_limit = std::nullopt,
                     const std::vector<int>& deaf = {}, unsigned longest_s = 0)
    {
        arguments.insert(arguments.begin(), SLIPGLASS_PROGRAM);
        std::vector<char*> argv;
        argv.reserve(arguments.size() + 1);
        for (std::string& a : arguments) argv.push_back(a.data());
        argv.push_back(nullptr);
        const std::string out = (scratch_ / "out").string(), err = (scratch_ / "err").string();
        pid_ = fork();
        if (pid_ < 0) throw std::runtime_error("fork");
        if (pid_ == 0) {
            dup2(open(out.c_str(), O_WRONLY | O_CREAT, 0600), STDOUT_FILENO);
            dup2(open(err.c_str(), O_WRONLY | O_CREAT, 0600), STDERR_FILENO);
            if (file_limit) {
                signal(SIGXFSZ, SIG_IGN);
                const rlimit limit{*file_limit, *file_limit};
                setrlimit(RLIMIT_FSIZE, &limit);
            }
            for (const int one : deaf) signal(one, SIG_IGN);
            alarm(longest_s);
            execv(argv[0], argv.data());
            _exit(127);
        }
    }

    void send(int signal_number) const { kill(pid_, signal_number); }

    Ran wait() const
    {
        int status = 0;
        waitpid(pid_, &status, 0);
        return {WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), readBytes(scratch_ / "out"),
                readBytes(scratch_ / "err")};
    }

private:
    ScratchFolder scratch_;
    pid_t pid_;
};

/// A line for a shell, in which slipglass is the built program. @return  its output and exit code.
inline Ran shell(const std::string& line)
{
    const std::string all = "slipglass() { '" + std::string(SLIPGLASS_PROGRAM) + "' \"$@\"; }; " + line;
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(all.c_str(), "r"), [](FILE*) { return 0; });
    Ran ran;
    for (int c = 0; (c = fgetc(pipe.get())) != EOF;) ran.out += static_cast<char>(c);
    const int status = pclose(pipe.get());
    ran.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    return ran;
}

inline Ran run(std::vector<std::string> arguments)
{
    return Program(std::move(arguments)).wait();
}

}  // namespace slipglass::test
